"""The keeping report on a small batch book with known answers."""

from datetime import date, timedelta
from typing import Any

import polars as pl
import pytest

from spec_frames import Book
from stillroom.objects import Finding, HouseFacts, Period, ReportInputs, ReportResult
from stillroom_plugins.reports.keeping import register_reports
from stillroom_plugins.reports.keeping.report import build
from store_frames import frame
from vega_lite import checked

FIRST = date(2026, 8, 24)
LAST = FIRST + timedelta(days=90)
PERIOD = Period(first=FIRST, last=LAST, label="autumn")
SIX_MP = [6, 6, 6, -6, 7, -9, 10, -10, -11, 13, 16, -17, -19, -20, 22, 23, -25, -32, -32, -34, -35]
CONTROL = [1, 1, 2, 2, 3, 4, 4, 5, 5, 8, 8, 8, 8, 11, 11, 12, 12, 15, 17, 22, 23]


def batch(label: str, name: str, made: date, label_days: int = 14, **facts: Any) -> dict[str, Any]:
    told = {"batch": label, "preparation": name, "version": 1, "storage": "fridge", "made_on": made, "last_day": LAST}
    told |= {"use_by": made + timedelta(days=label_days), "on_hand": 0.0, "left_at_use_by": 0.0}
    return told | facts


def off(made: date, days: int) -> dict[str, Any]:
    """Found spoiled some days after the making, the day after it last served."""
    found = made + timedelta(days=days)
    return {"ended_on": found, "spoiled_on": found, "last_good_on": found - timedelta(days=1)}


def inputs(batches: int = 10, lasted: tuple[int, ...] = (9, 9)) -> ReportInputs:
    """Honey syrup that keeps, and cucumber juice of which some batches last so many days."""
    fate, book = [], []
    for n in range(batches):
        made = FIRST + timedelta(days=min(7, 77 // batches) * n)
        used_up = {"ended_on": made + timedelta(days=12)}
        fate.append(batch(f"Cu-{n}", "Cucumber juice", made, **(off(made, lasted[n]) if n < len(lasted) else used_up)))
        fate.append(batch(f"Ho-{n}", "Honey syrup", made, **used_up))
        book.append((f"Cu-{n}", None, 3.4))
        book.append((f"Ho-{n}", 50 + 0.1 * (n % 3) + (5 if n == 9 else 0), None))
    frames = {
        "batch_fate": frame("batch_fate", fate),
        "current_batch": frame("current_batch", book, "batch brix ph"),
        **Book().frames,
        "panel_scores": frame("panel_scores"),
    }
    return ReportInputs(frames=frames, period=PERIOD, house=HouseFacts(name="Test", currency="EUR"))


@pytest.fixture(scope="module")
def result() -> ReportResult:
    return build(inputs())


def about(result: ReportResult) -> Finding:
    return next(f for f in result.findings if f.subject == "Cucumber juice")


def test_two_spoiled_batches_are_told_but_do_not_shorten_a_label(result: ReportResult) -> None:
    assert about(result).sentence == (
        "Cucumber juice: 2 batches of 10 went off: too few to say how long it keeps; "
        "keep to its label, 14 days from the making, or less."
    )
    assert "Found on day 9" in about(result).evidence
    assert (about(result).sureness, about(result).act) == ("cannot tell", False)


def test_the_keep_rests_on_the_day_by_which_one_in_ten_is_gone() -> None:
    found = build(inputs(40, (3, 7, 8, 8, 9, 9, 10, 11)))
    row = next(table.frame for table in found.tables if table.name == "kept").row(0, named=True)
    assert row["keep_days"] == int(row["tenth_low"])
    assert 3 < row["keep_days"] < row["tenth"] < 9  # not on the first that was found, on day 3
    said = about(found)
    assert f"keep it {row['keep_days']} days, not the 14 days of its label" in said.sentence
    assert said.do == f"keep it {row['keep_days']} days"
    assert said.act


def test_fewer_gone_than_one_in_ten_keep_the_label_and_never_make_it_longer() -> None:
    found = build(inputs(80, (5, 8, 12)))
    row = next(table.frame for table in found.tables if table.name == "kept").row(0, named=True)
    assert row["tenth_low"] > row["label_days"] == row["keep_days"] == 14
    assert "keep to the label" in about(found).sentence
    assert not about(found).act


def test_what_does_not_last_a_night_is_for_the_day_it_is_made() -> None:
    assert "use it on the day it is made" in about(build(inputs(12, (1,) * 6))).sentence


def test_a_day_on_which_nobody_looked_makes_the_keep_shorter() -> None:
    seen = inputs(20, (8,) * 10)
    unseen = inputs(20, (8,) * 10)
    fate = unseen.frames["batch_fate"].with_columns(pl.lit(None, dtype=pl.Date).alias("last_good_on"))
    found = build(ReportInputs(frames={**unseen.frames, "batch_fate": fate}, period=PERIOD, house=unseen.house))
    keeps = [next(t.frame for t in one.tables if t.name == "kept")["keep_days"][0] for one in (build(seen), found)]
    assert keeps[1] < keeps[0] < 8


def test_versions_that_do_not_keep_alike_are_told_apart() -> None:
    given = inputs(30, (4, 5, 5, 6, 4, 5, 6, 5, 4, 5))
    changed = pl.when(pl.col("made_on") >= FIRST + timedelta(days=20)).then(2).otherwise(1)
    given.frames["batch_fate"] = given.frames["batch_fate"].with_columns(changed.cast(pl.Int64).alias("version"))
    found = build(given)
    kept = next(table.frame for table in found.tables if table.name == "kept")
    rows = kept.filter(preparation="Cucumber juice").sort("version")
    assert rows["version"].to_list() == [1, 2]
    assert rows["weibull_shape"].to_list()[1] is None
    assert rows["keep_days"].to_list()[0] in (3, 4)
    assert about(found).sentence.startswith("Cucumber juice, version 1: keep it ")
    assert any("its versions do not keep alike" in finding.sentence for finding in found.findings)
    assert any("Cucumber juice, version 2" in f.sentence for f in found.findings if f.sentence.startswith("Nothing sp"))


def test_nothing_spoiled_never_makes_a_label_longer(result: ReportResult) -> None:
    finding = next(f for f in result.findings if f.sentence.startswith("Nothing spoiled"))
    assert "Honey syrup" in finding.sentence
    assert "no ground for a longer label" in finding.sentence
    assert "up to 31 % could still spoil" in finding.evidence  # 1 - 0.025 ** (1/10)
    kept = next(table.frame for table in result.tables if table.name == "kept")
    assert kept.filter(pl.col("preparation") == "Honey syrup")["good"].to_list() == [None]
    assert any("holding test" in note for note in result.notes)


def test_a_batch_off_its_brix_is_found_and_its_keeping_cannot_be_told(result: ReportResult) -> None:
    assert any("°Brix out of the ordinary in batch Ho-9" in f.sentence and f.act for f in result.findings)
    told = [f for f in result.findings if f.sentence.startswith("Whether batches outside")]
    assert [f.sureness for f in told] == ["cannot tell", "cannot tell"]
    assert any(
        f.sentence.startswith("Made the same each time") and "Cucumber juice (pH)" in f.sentence
        for f in result.findings
    )


def test_the_control_limits_follow_from_the_figures_given(result: ReportResult) -> None:
    # NIST/SEMATECH e-Handbook 6.3.2.2: middle -/+ 3 mean ranges / 1.128; ranges of two: D4 = 3.267.
    row = next(table.frame for table in result.tables if table.name == "measured").row(0, named=True)
    assert row["high"] - row["middle"] == pytest.approx(3 * row["mean_range"] / 1.128)
    assert row["range_high"] == pytest.approx(3.267 * row["mean_range"])


def test_tables_show_columns_they_have_and_charts_draw(result: ReportResult) -> None:
    for table in result.tables:
        assert set(table.columns) <= set(table.frame.columns)
    assert [chart.name for chart in result.charts] == ["control"]  # a curve of so few spoiled is left to its table
    for chart in result.charts:
        checked(chart)


SCATTER = [0.1, -0.2, 0.0, 0.3, -0.1, 0.2, -0.3, 0.0, 0.1, -0.1, 0.2, -0.2]


def brix_of(values: list[float]) -> ReportResult:
    """The report on a preparation whose batches measured these °Brix; the last six were of a new version."""
    given = inputs(0)
    made = [FIRST + timedelta(days=7 * number) for number in range(len(values))]
    version = [1] * (len(values) - 6) + [2] * 6
    given.frames["batch_fate"] = frame(
        "batch_fate",
        [batch(f"B{number}", "Cordial", day, 30, version=version[number]) for number, day in enumerate(made)],
    )
    given.frames["current_batch"] = frame(
        "current_batch", [(f"B{number}", value, None) for number, value in enumerate(values)], "batch brix ph"
    )
    return build(given)


def test_a_step_is_not_told_as_a_drift_and_is_dated() -> None:
    """Twelve batches, three °Brix more from the seventh on: told as 'rises by 0.24 from batch to batch' before."""
    result = brix_of([30 + noise + 3 * (number >= 6) for number, noise in enumerate(SCATTER)])
    [told] = [f for f in result.findings if f.subject == "Cordial" and "its °Brix" in f.sentence]
    assert "its °Brix stepped up by 2.90 °Brix with batch B6 of 5 Oct 2026, the first of version 2." in told.sentence
    assert "6 batches measured, mean 32.95 °Brix since 5 Oct 2026, of 12 in all; limits 32" in told.evidence
    assert not any("out of the ordinary" in f.sentence for f in result.findings)
    row = next(table.frame for table in result.tables if table.name == "measured").row(0, named=True)
    assert (row["since"], row["drift"]) == (FIRST + timedelta(days=42), None)
    assert 32 < row["low"] < row["high"] < 34


def test_a_slope_is_told_as_one() -> None:
    result = brix_of([30 + noise + 0.25 * number for number, noise in enumerate(SCATTER)])
    assert any("its °Brix rises by 0.24 °Brix from batch to batch." in f.sentence for f in result.findings)


def test_no_batches_and_few_batches() -> None:
    assert [f.sentence for f in build(inputs(0)).findings] == ["No batch in the batch book yet."]
    assert (about(build(inputs(2))).act, about(build(inputs(2))).sureness) == (False, "cannot tell")


def test_two_groups_of_patients_as_two_versions_give_r_survivals_figures() -> None:
    """Freireich et al. 1963 (R data MASS::gehan), each patient a batch: values printed by R survival."""
    lives = [(1, abs(weeks), weeks > 0) for weeks in SIX_MP] + [(2, abs(weeks), weeks > 0) for weeks in CONTROL]
    fate = []
    for number, (version, days, spoiled) in enumerate(lives):
        ended = off(FIRST, days) if spoiled else {"ended_on": FIRST + timedelta(days=days)}
        fate.append(batch(f"B{number}", "Cordial", FIRST, 40, version=version, **ended))
    given = inputs(0)
    given.frames["batch_fate"] = frame("batch_fate", fate)
    told = build(given)
    tables = {table.name: table.frame for table in told.tables}
    first = tables["good-by-day"].filter(version=1)
    assert first.select("day", "at_risk", "spoiled").rows()[:3] == [(6, 21, 3), (7, 17, 1), (10, 15, 1)]
    assert first["good"].to_list() == pytest.approx([0.857, 0.807, 0.753, 0.690, 0.627, 0.538, 0.448], abs=5e-4)
    assert tables["good-by-day"]["version"].unique().sort().to_list() == [None, 1, 2]
    assert tables["kept"]["versions_chi_squared"].to_list() == pytest.approx([16.79] * 2, abs=0.01)
    assert any("p < 0.001" in finding.statistics for finding in told.findings)


def test_it_is_registered_with_the_views_it_needs() -> None:
    [report] = register_reports()
    assert set(report.needs) == set(inputs().frames)
