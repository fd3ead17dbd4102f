"""Report: what will be sold and used in the days to come, and how far such forecasts can be trusted here."""

from __future__ import annotations

from typing import Final

import polars as pl

from stillroom.analysis.demand.ahead import DemandAhead, demand_ahead, preparation_coverage
from stillroom.glossary import named
from stillroom.house.report_settings import DemandSettings
from stillroom.objects import Column, Finding, ReportInputs, ReportResult, ReportTable
from stillroom_plugins.reports.demand import charts, findings

DAYS: Final = 14
"""Days ahead that are shown."""

NOTES: Final = (
    "Expected serves of a drink: the house's level, times the weekday, times the event if there is one, times the "
    "drink's share; shares of drinks with few sales are drawn towards the average drink's. How fast a drink's past is "
    "forgotten, and whether a trend is carried on, goes by what forecast it best so far. Counts are negative binomial, "
    "with a spread of its own for each drink; the 80 % interval is what 8 of 10 such days should fall into.",
    "The test: each of the last weeks is forecast from the days before it alone. Pinball loss is how far the stated "
    "quantiles lay from what happened, in serves; smaller is better.",
    "Closed days and events come from the settings: [report.demand] closed = [dates], and [[report.demand.event]] with "
    "name and days. The days ahead begin after the last day in the data.",
)


def build(inputs: ReportInputs[DemandSettings]) -> ReportResult:
    """Findings, tables and charts of the days to come, venue by venue."""
    calendar = inputs.settings.calendar()
    frames = dict(inputs.frames)
    daily = frames["daily_serves"].filter(pl.col("business_date") <= inputs.period.last)
    if daily.is_empty():
        return ReportResult(findings=(Finding(sentence="No sales yet to forecast from.", evidence="0 days."),))
    last_day = max(daily["business_date"].to_list())
    venues = sorted(daily["venue"].drop_nulls().unique().to_list())
    tried = (demand_ahead({**frames, "daily_serves": daily}, venue, last_day, DAYS, calendar) for venue in venues)
    found = [one for one in tried if one is not None]
    several = len(found) > 1
    told = [said for one in found for said in findings.findings(one, preparation_coverage(one), several)]
    tables = (
        *(_drinks_table(found), _preparations_table(found), _days_table(found)),
        *(_drink_days_table(found), _test_table(found)),
    )
    return ReportResult(
        findings=tuple(told),
        tables=tuple(table for table in tables if table.frame.height),
        charts=tuple(chart for one in found for chart in charts.charts(one, several)),
        notes=NOTES,
    )


RANGE: Final = {
    "expected": Column(label="Expected", decimals=0),
    "low": Column(label="80 % from", decimals=0),
    "high": Column(label="to", decimals=0),
}


def _by_venue(found: list[DemandAhead], frames: list[pl.DataFrame]) -> pl.DataFrame:
    named = [frame.select(pl.lit(one.venue).alias("venue"), pl.all()) for one, frame in zip(found, frames, strict=True)]
    return pl.concat(named) if named else pl.DataFrame()


def _drinks_table(found: list[DemandAhead]) -> ReportTable:
    frame = _by_venue(found, [one.drinks().filter(pl.col("expected") > 0) for one in found])
    return ReportTable(
        name="drinks",
        title=f"Serves of each drink in the next {DAYS} days",
        frame=frame.sort("venue", "expected", descending=[False, True]) if frame.height else frame,
        subjects="drink",
        columns={"drink": Column(label="Drink"), "venue": Column(label="Venue"), **RANGE},
    )


def _preparations_table(found: list[DemandAhead]) -> ReportTable:
    frame = _by_venue(found, [one.preparations().filter(pl.col("expected") > 0) for one in found])
    return ReportTable(
        name="preparations",
        title=f"Need of each preparation in the next {DAYS} days, through all that is made of it",
        frame=frame.sort("venue", "preparation") if frame.height else frame,
        subjects="preparation",
        columns={
            **named("preparation", "venue"),
            **RANGE,
            **named("unit"),
        },
    )


def _days_table(found: list[DemandAhead]) -> ReportTable:
    return ReportTable(
        name="days",
        title="Serves of all drinks, day by day",
        frame=_by_venue(found, [one.days() for one in found]),
        columns={"day": Column(label="Day"), "venue": Column(label="Venue"), **RANGE},
    )


def _drink_days_table(found: list[DemandAhead]) -> ReportTable:
    return ReportTable(
        name="drink-days",
        title="Serves of each drink, day by day",
        frame=_by_venue(found, [one.drink_days() for one in found]),
        subjects="drink",
        columns={
            **named("day", "drink", "venue"),
            "expected": Column(label="Expected", decimals=1),
            "p10": Column(label="80 % from", decimals=0),
            "p50": Column(label="median", decimals=0),
            "p90": Column(label="to", decimals=0),
        },
        note="Quantiles of the predictive distribution; more of them (5, 25, 75 and 95 %) are in the JSON and CSV.",
    )


def _test_table(found: list[DemandAhead]) -> ReportTable:
    tested = [one for one in found if one.tested is not None]
    return ReportTable(
        name="test",
        title="How each way to forecast would have done in past weeks",
        frame=_by_venue(tested, [one.tested.scores for one in tested if one.tested is not None]),
        statistics=True,
        columns={
            "way": Column(label="Way"),
            **named("venue"),
            "weeks": Column(label="Weeks"),
            "forecasts": Column(label="Forecasts"),
            "loss": Column(label="Pinball loss", unit="serves", decimals=3),
            "mean_error": Column(label="Mean absolute error", unit="serves", decimals=2),
            "coverage": Column(label="Inside the 80 % interval", percent=True, decimals=0),
            "due": Column(label="Should be inside", percent=True, decimals=0),
        },
        note="Counts are whole, so an interval cannot hold exactly 80 %: 'should be' is by its own account.",
    )
