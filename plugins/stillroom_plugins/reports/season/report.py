"""Report: how each drink on the menu sold this season, what it earned, and where it is going."""

from __future__ import annotations

from typing import Final

import polars as pl

from stillroom.analysis.menu.season import SeasonFigures, season_figures
from stillroom.glossary import named
from stillroom.objects import Column, ReportInputs, ReportResult, ReportTable
from stillroom_plugins.reports.season import charts, findings

NOTES: Final = (
    "Contribution is what the till took for a serve, net, less the cost of what is in it: no labour, no rent.",
    "Sells well: at least 70 % of an equal share of the serves. Earns well: at least the average contribution of a "
    "serve. A drink exactly on a mark has reached it. (Kasavana & Smith 1982, as printed in Dittmer & Keefe.)",
    "A drink on the menu for part of the season is compared with the drinks beside it on its own days; a drink without "
    "dates in its specs counts as on the menu from its first to its last sale.",
    "'Near the mark': chance could have put it on the other side, by how much orders vary on its own days, what the "
    "till took and what it cost; or it lies within 5 % of the mark.",
    "A drink keeps its level, steps to another or slopes from week to week, whichever explains it best; weekdays "
    "and short weeks are allowed for, and a new version or price is the first place looked at. A step or slope is "
    "named only when chance is an unlikely reason after allowing for the number of drinks looked at (Holm, 5 %).",
)


def build(inputs: ReportInputs) -> ReportResult:
    """Findings, tables and charts of the season."""
    frames, period, currency = inputs.frames, inputs.period, inputs.house.currency
    figures = season_figures(
        frames["daily_serves"], frames["current_spec"], frames["spec_cost"], period.first, period.last
    )
    till = till_reconciled(frames["daily_serves"], frames["other_sales"], frames["unmatched_sales"])
    said = findings.findings(figures, till, frames["unmatched_sales"], period, currency)
    tables = [_till_table(till, currency), _unmatched_table(frames["unmatched_sales"], currency)]
    if figures.open_days == 0:
        return ReportResult(findings=said, tables=tuple(t for t in tables if t.frame.height))
    tables = [_drinks_table(figures, currency), _trends_table(figures), _weeks_table(figures), *tables]
    return ReportResult(
        findings=said,
        tables=tuple(table for table in tables if table.frame.height),
        charts=charts.charts(figures, currency),
        notes=NOTES,
    )


def till_reconciled(daily: pl.DataFrame, other: pl.DataFrame, unmatched: pl.DataFrame) -> pl.DataFrame:
    """Everything the till sold, all days: our drinks, what is not ours, what matches nothing, and the total.

    Returns:
        what, lines, net_amount, share (of the total; null when that is 0).
    """
    parts = {"our drinks": daily, "matched as not one of ours": other, "matched to nothing yet": unmatched}
    rows = [(what, float(frame["lines"].sum()), float(frame["net_amount"].sum())) for what, frame in parts.items()]
    rows.append(("till total", sum(row[1] for row in rows), sum(row[2] for row in rows)))
    total = rows[-1][2]
    return pl.DataFrame(rows, schema=["what", "lines", "net_amount"], orient="row").with_columns(
        pl.when(total != 0).then(pl.col("net_amount") / total).alias("share")
    )


def _drinks_table(figures: SeasonFigures, currency: str) -> ReportTable:
    columns = {
        "spec": Column(label="Drink"),
        "does": Column(label="What it does"),
        **named("serves"),
        "share": Column(label="Share of serves", percent=True, decimals=1),
        "days": Column(label="Days on the menu", decimals=0),
        "serves_per_day": Column(label="Serves per day on the menu", decimals=1),
        "daily_share": Column(label="Share on its own days", percent=True, decimals=1),
        "net_amount": Column(label="Sales, net", unit=currency, decimals=0),
        "net_per_serve": Column(label="Net a serve", unit=currency, decimals=2),
        "cost_per_serve": Column(label="Cost a serve", unit=currency, decimals=2),
        "cost_at_least": Column(label="Cost a serve, at least", unit=currency, decimals=2),
        **named("missing"),
        "costed_share": Column(label="Serves with a cost", percent=True),
        "contribution": Column(label="Contribution a serve", unit=currency, decimals=2),
        "total_contribution": Column(label="Contribution", unit=currency, decimals=0),
    }
    if figures.drinks["missing"].null_count() == figures.drinks.height:
        del columns["cost_at_least"], columns["missing"], columns["costed_share"]
    return ReportTable(
        name="drinks",
        title="Every drink on the menu in this period",
        frame=figures.drinks,
        columns=columns,
        subjects="spec",
        note="Contribution: that of a serve, times serves.",
    )


def _trends_table(figures: SeasonFigures) -> ReportTable:
    columns = {
        "spec": Column(label="Drink"),
        "going": Column(label="Trend"),
        "change": Column(label="Change a week", percent=True, decimals=1, signed=True),
        "low": Column(label="from", percent=True, decimals=1, signed=True),
        "high": Column(label="to", percent=True, decimals=1, signed=True),
        "step_week": Column(label="New level since the week of"),
        "step_ratio": Column(label="After over before", decimals=2),
        "step_low": Column(label="from", decimals=2),
        "step_high": Column(label="to", decimals=2),
    }
    if figures.drinks["step_week"].null_count() == figures.drinks.height:
        del columns["step_week"], columns["step_ratio"], columns["step_low"], columns["step_high"]
    return ReportTable(
        name="trends",
        title="Which way each drink goes",
        frame=figures.drinks,
        columns=columns,
        subjects="spec",
        note="'From' and 'to': 95 % interval of the figure before them.",
    )


def _weeks_table(figures: SeasonFigures) -> ReportTable:
    return ReportTable(
        name="weeks",
        title="Serves by week",
        frame=figures.weeks.select("spec", "week", "open_days", "serves", "serves_per_day"),
        columns={
            "spec": Column(label="Drink"),
            "week": Column(label="Week from"),
            "open_days": Column(label="Open days on the menu", decimals=0),
            **named("serves"),
            "serves_per_day": Column(label="Serves a day", decimals=1),
        },
        subjects="spec",
    )


def _till_table(till: pl.DataFrame, currency: str) -> ReportTable:
    return ReportTable(
        name="till",
        title="Where the till's money went: every line taken in, all days",
        frame=till,
        columns={
            "what": Column(label="Till lines"),
            "lines": Column(label="Lines", decimals=0),
            "net_amount": Column(label="Net", unit=currency, decimals=2),
            "share": Column(label="Share", percent=True, decimals=1),
        },
        note="All days in the store, not the chosen period alone, so that it can be held against the till's own total.",
    )


def _unmatched_table(unmatched: pl.DataFrame, currency: str) -> ReportTable:
    return ReportTable(
        name="unmatched",
        title="Till items that match no drink yet",
        frame=unmatched.sort("net_amount", "till_item", descending=[True, False]),
        columns={
            "till_item": Column(label="Till item"),
            **named("venue"),
            "quantity": Column(label="Quantity", decimals=0),
            "net_amount": Column(label="Net", unit=currency, decimals=2),
            "first_day": Column(label="First day"),
            "last_day": Column(label="Last day"),
        },
        note="'stillroom match' asks what they are.",
    )
