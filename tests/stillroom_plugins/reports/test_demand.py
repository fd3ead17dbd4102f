"""The demand report on a simulated house."""

from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import polars as pl
import pytest

from sales_frames import MONDAY, as_frame, drawn, specs, truth
from stillroom.analysis.demand.ahead import demand_ahead
from stillroom.analysis.demand.sales_history import Calendar
from stillroom.house.report_settings import DemandSettings
from stillroom.objects import HouseFacts, Period, ReportInputs, ReportResult
from stillroom_plugins.reports.demand import register_reports
from stillroom_plugins.reports.demand.findings import findings
from stillroom_plugins.reports.demand.report import DAYS, build
from store_frames import frame
from vega_lite import checked

SHARES = np.array([12, 10, 8, 6, 4, 2.0])


def inputs(days: int = 84, closed: tuple[date, ...] = ()) -> ReportInputs[DemandSettings]:
    daily = as_frame(drawn(truth(days, SHARES, 80), np.random.default_rng(8)))
    use = daily.filter(pl.col("spec").is_in(["Drink 00", "Drink 01"])).select(
        "venue", "business_date", pl.lit("shrub").alias("preparation"), pl.col("spec").alias("used_by"),
        (pl.col("serves") * 20).alias("amount"), pl.lit("ml").alias("unit"),
    )  # fmt: skip
    frames = {"daily_serves": daily, "current_spec": specs(len(SHARES)), "preparation_use": use}
    frames["batch_fate"] = frame("batch_fate")
    period = Period(first=MONDAY, last=MONDAY + timedelta(days=max(days, 1) - 1), label="summer")
    house = HouseFacts(name="Test", currency="EUR")
    return ReportInputs(frames=frames, period=period, house=house, settings=DemandSettings(closed=closed))


@pytest.fixture(scope="module")
def result() -> ReportResult:
    return build(inputs())


def test_the_week_ahead_is_the_truth_within_its_interval(result: ReportResult) -> None:
    true = truth(7, SHARES, 80).sum()
    said = result.findings[0].sentence
    low, high = (float(part) for part in said.split("between ")[1].rstrip(").").split(" and "))
    assert low < true < high


def test_the_need_of_a_preparation_follows_from_the_serves(result: ReportResult) -> None:
    row = next(table.frame for table in result.tables if table.name == "preparations").row(0, named=True)
    true = 20 * truth(DAYS, SHARES, 80)[:, :2].sum()
    assert (row["preparation"], row["unit"]) == ("shrub", "ml")
    assert row["low"] < true < row["high"]


def test_each_drink_has_its_quantiles_day_by_day(result: ReportResult) -> None:
    tables = {table.name: table.frame for table in result.tables}
    each = tables["drink-days"]
    ends = each.select("p05", "p10", "p25", "p50", "p75", "p90", "p95").to_numpy()
    assert (np.diff(ends, axis=1) >= 0).all()
    # Added up over the drinks they are the days' expectation, which rests on 2000 draws.
    summed = each.group_by("day").agg(pl.col("expected").sum()).sort("day")
    drawn_days = tables["days"].filter(pl.col("expected") > 0).sort("day")
    assert summed["day"].to_list() == drawn_days["day"].to_list()
    assert summed["expected"].to_list() == pytest.approx(drawn_days["expected"].to_list(), rel=0.03)
    true = truth(DAYS, SHARES, 80)
    by_day = {MONDAY + timedelta(days=84 + n): n for n in range(DAYS)}
    inside = [
        row["p05"] <= true[by_day[row["day"]], int(row["drink"][-2:])] <= row["p95"]
        for row in each.iter_rows(named=True)
    ]
    assert np.mean(inside) > 0.95


def test_the_test_on_past_weeks_stands_beside_the_forecast(result: ReportResult) -> None:
    scores = next(table.frame for table in result.tables if table.name == "test")
    assert scores["way"].to_list() == ["pooled model", "same weekday last week", "mean of the last four"]
    assert "beats the simple ways" in result.findings[1].sentence
    assert "of the week's need of preparations" in result.findings[1].evidence.casefold()


def test_same_house_same_page() -> None:
    assert build(inputs()).findings == build(inputs()).findings


def test_tables_show_columns_they_have_and_charts_draw(result: ReportResult) -> None:
    for table in result.tables:
        assert set(table.columns) <= set(table.frame.columns)
    for chart in result.charts:
        checked(chart)


def test_the_line_of_days_has_a_gap_where_the_house_was_closed(result: ReportResult) -> None:
    spec = checked(result.charts[0])
    rows = spec["datasets"][spec["layer"][0]["data"]["name"]]
    line = pl.DataFrame(rows).with_columns(pl.col("day").str.to_datetime().dt.date())
    closed = line.filter(pl.col("serves").is_null())["day"]
    assert set(closed.dt.weekday()) == {1}  # every Monday
    assert line["day"].diff().drop_nulls().dt.total_days().to_list() == [1] * (line.height - 1)


def test_a_closed_day_of_the_settings_sells_nothing() -> None:
    saturday = MONDAY + timedelta(days=84 + 5)
    days = next(t.frame for t in build(inputs(closed=(saturday,))).tables if t.name == "days")
    assert days.filter(pl.col("day") == saturday)["expected"].to_list() == [0]


def test_a_week_of_sales_and_none() -> None:
    short = build(inputs(days=9))
    assert [f.sureness for f in short.findings] == ["cannot tell", "cannot tell"]
    some = inputs(days=9)
    none = {**some.frames, "daily_serves": some.frames["daily_serves"].clear()}
    found = build(replace(some, frames=none))
    assert [f.sentence for f in found.findings] == ["No sales yet to forecast from."]


def test_it_is_registered_with_the_views_it_needs() -> None:
    [report] = register_reports()
    assert set(report.needs) == set(inputs(days=9).frames)


def test_it_is_not_sure_where_the_needs_of_preparations_lay_outside() -> None:
    """A quarter of the needs lay inside the 80 % interval, and the forecast was still called sure."""
    given = inputs()
    [venue] = given.frames["daily_serves"]["venue"].unique().to_list()
    one = demand_ahead(dict(given.frames), venue, given.period.last, DAYS, Calendar())
    assert one is not None
    good, bad = (findings(one, covered, False)[-1] for covered in ((16, 20), (5, 20)))
    assert (good.sureness, bad.sureness) == ("sure", "likely")
