"""The keeping report on a small batch book with known answers."""

from datetime import date, timedelta
from typing import Any

import polars as pl
import pytest

from stillroom.objects import HouseFacts, Period, ReportInputs, ReportResult
from stillroom_plugins.reports.keeping import build, register_reports
from stillroom_plugins.reports.keeping.findings import _moved

FIRST = date(2026, 8, 24)
LAST = FIRST + timedelta(days=90)
PERIOD = Period(first=FIRST, last=LAST, label="autumn")
BATCH: dict[str, Any] = {"batch": pl.String, "preparation": pl.String, "version": pl.Int64, "made_on": pl.Date}
FATE = BATCH | {"use_by": pl.Date, "ended_on": pl.Date, "last_day": pl.Date}
BOOK = {"batch": pl.String, "storage": pl.String, "brix": pl.Float64, "ph": pl.Float64}
SPEC = {"spec": pl.String, "version": pl.Int64, "kind": pl.String, "yield_amount": pl.Float64, "yield_unit": pl.String}
SPEC |= {"keeps_days": pl.Float64, "storage": pl.String, "method": pl.String, "price": pl.Float64}
SPEC |= {"in_service_from": pl.Date, "in_service_until": pl.Date, "note": pl.String, "dilution_pct": pl.Float64}
LINE = {
    "spec": pl.String,
    "version": pl.Int64,
    "line": pl.Int64,
    "item": pl.String,
    "amount": pl.Float64,
    "unit": pl.String,
}
INGREDIENT = {"item": pl.String, "pack_amount": pl.Float64, "pack_unit": pl.String, "pack_cost": pl.Float64}
INGREDIENT |= {"priced_on": pl.Date, "usable_pct": pl.Float64, "abv_pct": pl.Float64, "sugar_pct": pl.Float64}
INGREDIENT |= {"acid_pct": pl.Float64, "density_g_ml": pl.Float64, "allergens": pl.String}
SIX_MP = [6, 6, 6, -6, 7, -9, 10, -10, -11, 13, 16, -17, -19, -20, 22, 23, -25, -32, -32, -34, -35]
CONTROL = [1, 1, 2, 2, 3, 4, 4, 5, 5, 8, 8, 8, 8, 11, 11, 12, 12, 15, 17, 22, 23]
SCORES = {"spec": pl.String, "version": pl.Int64, "tasted_on": pl.Date, "session": pl.String, "attribute": pl.String}
SCORES |= {"score": pl.Float64, "scale_low": pl.Float64, "scale_high": pl.Float64, "scale_kind": pl.String}


def inputs(batches: int = 10, lasted: int = 9) -> ReportInputs:
    fate, book, events = [], [], []
    for n in range(batches):
        made = FIRST + timedelta(days=7 * n)
        use_by = made + timedelta(days=14)
        went_off = n in (1, 4)
        for name in ("Cucumber juice", "Honey syrup"):
            label = f"{name[:2]}-{n}"
            off = went_off and name == "Cucumber juice"
            ended = made + timedelta(days=lasted if off else 12)
            fate.append((label, name, 1, made, use_by, ended, LAST))
            brix = 50 + 0.1 * (n % 3) + (5 if n == 9 else 0) if name == "Honey syrup" else None
            book.append((label, "fridge", brix, 3.4 if name == "Cucumber juice" else None))
            if off:
                events.append((label, ended, "spoiled"))
    frames = {
        "batch_fate": pl.DataFrame(fate, schema=FATE, orient="row"),
        "current_batch": pl.DataFrame(book, schema=BOOK, orient="row"),
        "current_batch_event": pl.DataFrame(
            events, schema={"batch": pl.String, "happened_on": pl.Date, "event": pl.String}, orient="row"
        ),
        "current_spec": pl.DataFrame(schema=SPEC),
        "current_spec_line": pl.DataFrame(schema=LINE),
        "current_ingredient": pl.DataFrame(schema=INGREDIENT),
        "panel_scores": pl.DataFrame(schema=SCORES),
    }
    return ReportInputs(frames=frames, period=PERIOD, house=HouseFacts(name="Test", currency="EUR"))


@pytest.fixture(scope="module")
def result() -> ReportResult:
    return build(inputs())


def test_a_label_that_promises_too_much_is_found(result: ReportResult) -> None:
    finding = next(f for f in result.findings if f.subject == "Cucumber juice")
    assert "the label says 14 days; 1 batch in 5 is gone by day 9" in finding.sentence
    assert "label it 8 days" in finding.sentence
    assert finding.act


def test_what_does_not_last_a_night_is_for_the_day_it_is_made() -> None:
    finding = next(f for f in build(inputs(lasted=1)).findings if f.subject == "Cucumber juice")
    assert "use it on the day it is made" in finding.sentence


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
    about = [f for f in result.findings if f.sentence.startswith("Whether batches outside")]
    assert [f.sureness for f in about] == ["cannot tell", "cannot tell"]
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
    assert [chart.name for chart in result.charts] == ["survival", "control"]
    for chart in result.charts:
        assert "NaN" not in chart.chart.to_json()


@pytest.mark.parametrize(
    ("drift", "said"),
    [
        (0.24, "rises by 0.24 pH from batch to batch"),
        (-0.1, "falls by 0.10 pH from batch to batch"),
        (None, "has moved"),
    ],
)
def test_which_way_a_measure_moves_is_said(drift: float | None, said: str) -> None:
    assert _moved(drift, "pH") == said


def test_no_batches_and_few_batches() -> None:
    assert [f.sentence for f in build(inputs(0)).findings] == ["No batch in the batch book yet."]
    few = build(inputs(2))
    finding = next(f for f in few.findings if f.subject == "Cucumber juice")
    assert (finding.act, finding.sureness) == (False, "cannot tell")


def test_two_groups_of_patients_as_two_versions_give_r_survivals_figures() -> None:
    """Freireich et al. 1963 (R data MASS::gehan), each patient a batch: values printed by R survival."""
    lives = [(1, abs(weeks), weeks > 0) for weeks in SIX_MP] + [(2, abs(weeks), weeks > 0) for weeks in CONTROL]
    fate, events = [], []
    for number, (version, days, spoiled) in enumerate(lives):
        ended = FIRST + timedelta(days=days)
        fate.append((f"B{number}", "Cordial", version, FIRST, FIRST + timedelta(days=40), ended, LAST))
        events += [(f"B{number}", ended, "spoiled")] if spoiled else []
    given = inputs(0)
    given.frames["batch_fate"] = pl.DataFrame(fate, schema=FATE, orient="row")
    given.frames["current_batch_event"] = pl.DataFrame(
        events, schema={"batch": pl.String, "happened_on": pl.Date, "event": pl.String}, orient="row"
    )
    told = build(given)
    tables = {table.name: table.frame for table in told.tables}
    first = tables["good-by-day"].filter(version=1)
    assert first.select("day", "at_risk", "spoiled").rows()[:3] == [(6, 21, 3), (7, 17, 1), (10, 15, 1)]
    assert first["good"].to_list() == pytest.approx([0.857, 0.807, 0.753, 0.690, 0.627, 0.538, 0.448], abs=5e-4)
    assert tables["good-by-day"]["version"].unique().sort().to_list() == [None, 1, 2]
    assert tables["kept"]["versions_chi_squared"].item() == pytest.approx(16.79, abs=0.01)
    assert any("p < 0.001" in finding.statistics for finding in told.findings)


def test_it_is_registered_with_the_views_it_needs() -> None:
    [report] = register_reports()
    assert set(report.needs) == set(inputs().frames)
