"""The season report on small frames with known answers."""

from datetime import date, timedelta

import numpy as np
import polars as pl
import pytest

from stillroom.objects import HouseFacts, Period, ReportInputs, ReportResult
from stillroom_plugins.reports.season import register_reports
from stillroom_plugins.reports.season.findings import _advice, _at_stake, _contribution
from stillroom_plugins.reports.season.report import build, till_reconciled
from store_frames import frame
from vega_lite import checked

FIRST = date(2026, 8, 24)
PERIOD = Period(first=FIRST, last=FIRST + timedelta(days=90), label="autumn")
DRINKS = {  # name: serves a day, price net, cost (None: a price is missing)
    "Pear Sour": (20, 11.0, 2.5),
    "Fig Leaf Fizz": (16, 10.0, 4.0),
    "Smoke & Quince": (3, 13.0, 3.0),
    "<Bitter> Orchard": (2, 9.0, 4.5),
    "Quiet One": (14, 10.5, None),
}


def daily() -> pl.DataFrame:
    generator = np.random.default_rng(3)
    rows = []
    for day in range(91):
        for name, (mean, price, _) in DRINKS.items():
            falling = 0.95 ** (day // 7) if name == "Fig Leaf Fizz" else 1.0
            serves = float(generator.poisson(mean * falling))
            rows.append(("bar", FIRST + timedelta(days=day), name, 1, serves, serves * price, 3))
    return frame("daily_serves", rows)


def inputs(sold: pl.DataFrame, unmatched_rows: int = 1) -> ReportInputs:
    spec = frame(
        "current_spec",
        [(name, 1, "drink", FIRST, None) for name in DRINKS],
        "spec version kind in_service_from in_service_until",
    )
    costs = frame(
        "spec_cost",
        [(name, 1, FIRST, cost, cost or 1.2, None if cost else "beeswax") for name, (_, _, cost) in DRINKS.items()],
        "spec version priced_from cost cost_known missing",
    )
    end = PERIOD.last
    unmatched = frame("unmatched_sales", [("bar", "PR SOUR", 40.0, 440.0, 40, FIRST, end)] * unmatched_rows)
    other = frame("other_sales", [("bar", "LAGER", 400.0, 2000.0, 300, FIRST, end)])
    frames = {
        "daily_serves": sold,
        "current_spec": spec,
        "spec_cost": costs,
        "other_sales": other,
        "unmatched_sales": unmatched,
    }
    return ReportInputs(frames=frames, period=PERIOD, house=HouseFacts(name="Test", currency="EUR"))


@pytest.fixture(scope="module")
def result() -> ReportResult:
    return build(inputs(daily()))


def said(result: ReportResult, about: str) -> list[str]:
    return [finding.sentence for finding in result.findings if finding.subject == about]


def test_known_truths_are_said(result: ReportResult) -> None:
    assert any("sells little and earns little" in s for s in said(result, "<Bitter> Orchard"))
    assert any("sells little and earns well" in s for s in said(result, "Smoke & Quince"))
    assert any("sells well and earns little" in s for s in said(result, "Fig Leaf Fizz"))
    assert any("is falling " in s for s in said(result, "Fig Leaf Fizz"))
    assert said(result, "Pear Sour") == []
    assert said(result, "Quiet One") == ["Quiet One costs at least EUR 1.20 a serve: no price for beeswax."]


def test_a_total_over_some_drinks_does_not_look_like_one_over_all(result: ReportResult) -> None:
    assert any("; the 4 drinks whose cost is known left EUR " in f.sentence for f in result.findings)


def test_names_of_the_published_classes_are_not_used(result: ReportResult) -> None:
    text = " ".join(f"{f.sentence} {f.evidence}" for f in result.findings).casefold()
    assert not {"star", "dog", "puzzle", "plowhorse"} & set(text.replace(",", " ").split())


def test_the_till_adds_up(result: ReportResult) -> None:
    till = next(table.frame for table in result.tables if table.name == "till")
    parts = till.filter(pl.col("what") != "till total")
    total = till.filter(pl.col("what") == "till total").row(0, named=True)
    sold = daily()
    assert total["net_amount"] == pytest.approx(sold["net_amount"].sum() + 2000 + 440)
    assert parts["net_amount"].sum() == pytest.approx(total["net_amount"])
    assert parts["lines"].sum() == total["lines"] == sold["lines"].sum() + 340
    assert parts["share"].sum() == pytest.approx(1)
    drinks = next(table.frame for table in result.tables if table.name == "drinks")
    assert drinks["net_amount"].sum() == pytest.approx(sold["net_amount"].sum())


def test_serves_that_a_drink_gains_are_taken_from_others() -> None:
    row = {"contribution": 10.0, "sold": 100.0, "share_mark": 0.2, "daily_share": 0.05}
    clear = {**row, "mark_clear": True, "earns_clear": True}
    # To four times its share: 300 serves, each of which leaves 2 more than the average one whose place it takes.
    assert _at_stake(clear, 8.0)[0] == pytest.approx(600)
    assert _at_stake({**clear, "contribution": 6.0}, 8.0)[0] == pytest.approx(200)  # its own 100 serves, 2 each
    assert _at_stake({**clear, "mark_clear": False}, 8.0)[0] == 0


@pytest.mark.parametrize(
    ("going", "high", "advised"),
    [
        ("falling", -0.04, "Find out first why it sells less than it did"),
        ("no clear trend", -0.04, "Find out first why it sells less than it did"),  # by its own weeks, if not among all
        ("no clear trend", 0.01, "Worth telling guests about, or a better place on the menu"),
        ("cannot tell", None, "Worth telling guests about, or a better place on the menu"),
    ],
)
def test_a_drink_that_falls_is_looked_into_before_it_gets_a_better_place(going, high, advised) -> None:
    assert _advice({"off": False, "does": "sells little, earns well", "going": going, "high": high}) == advised


def test_of_a_house_that_falls_it_is_told_which_venue_does() -> None:
    rows = []
    for day in range(91):
        for venue, later in (("Front", 0.5), ("Back", 1.0)):
            serves = round(40 * (later if day >= 49 else 1.0)) + (day % 3) - 1.0
            rows.append((venue, FIRST + timedelta(days=day), "Quiet One", 1, serves, 10 * serves, 3))
    sold = frame("daily_serves", rows)
    (told,) = [one.sentence for one in build(inputs(sold)).findings if one.sentence.startswith("The house as a whole")]
    # By hand: 20 of 40 at Front, 60 of 80 of the house, from the eighth Monday on.
    since = f"since {FIRST + timedelta(days=49):%-d %b}"
    assert told == f"The house as a whole sells 25 % fewer drinks a day {since}: Front 50 % fewer {since}."
    alone = build(inputs(sold.with_columns(venue=pl.lit("Front"))))
    assert any(one.sentence.endswith(f"25 % fewer drinks a day {since}.") for one in alone.findings)


def test_a_drink_that_sold_nothing_is_named_and_not_said_to_be_new() -> None:
    sold = daily().filter(pl.col("spec") != "Smoke & Quince")
    found = build(inputs(sold))
    (finding,) = [f for f in found.findings if f.subject == "Smoke & Quince"]
    assert finding.sentence == "Smoke & Quince is on the menu and sold nothing."
    assert finding.act
    assert finding.evidence == "On the menu by the spec book; no till line is matched to it."
    assert not any("cannot tell yet" in f.sentence for f in found.findings)


def test_a_contribution_that_did_not_vary_has_no_range_and_days_are_in_words() -> None:
    row = {"contribution": 7.5, "contribution_low": 7.5, "contribution_high": 7.501}
    assert _contribution(row, "EUR") == "EUR 7.50 contribution a serve"
    assert _contribution({**row, "contribution_low": 7.0}, "EUR").endswith("(EUR 7.00 to EUR 7.50)")
    assert _advice({"off": True, "last_day": FIRST}) == "It left the menu after 24 Aug 2026"


def test_unmatched_money_is_told(result: ReportResult) -> None:
    finding = next(f for f in result.findings if "no drink" in f.sentence)
    assert "PR SOUR" in finding.sentence


def test_tables_show_columns_they_have_and_charts_draw(result: ReportResult) -> None:
    for table in result.tables:
        assert set(table.columns) <= set(table.frame.columns)
    assert [chart.name for chart in result.charts] == ["place", "weeks"]
    for chart in result.charts:
        checked(chart)


def test_no_sales_in_the_period() -> None:
    found = build(inputs(daily().clear(), unmatched_rows=0))
    assert [f.sentence for f in found.findings] == ["No sales of any drink in autumn."]
    assert found.charts == ()


def test_sales_without_any_spec_or_cost() -> None:
    bare = inputs(daily())
    frames = {
        **bare.frames,
        "current_spec": bare.frames["current_spec"].clear(),
        "spec_cost": bare.frames["spec_cost"].clear(),
    }
    found = build(ReportInputs(frames=frames, period=PERIOD, house=bare.house))
    assert any(f.sentence.startswith("No cost, so no contribution, for") for f in found.findings)
    assert [chart.name for chart in found.charts] == ["weeks"]


def test_nothing_sold_at_all_has_no_shares() -> None:
    empty = frame("other_sales")
    assert till_reconciled(frame("daily_serves"), empty, empty)["share"].null_count() == 4


def test_it_is_registered_with_the_views_it_needs() -> None:
    [report] = register_reports()
    assert set(report.needs) == set(inputs(daily().clear()).frames)
