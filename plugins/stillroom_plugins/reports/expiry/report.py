"""Report: which preparations expire before they are used, what that costs, and what is about to."""

from __future__ import annotations

from datetime import timedelta
from typing import Final

import polars as pl

from stillroom.analysis.batches.against_loss import any_sold
from stillroom.analysis.batches.on_hand import outlook
from stillroom.analysis.batches.use_ahead import house_wide, use_of_stock
from stillroom.analysis.batches.use_rate import WINDOW, rates_of_use
from stillroom.analysis.batches.waste import fate_by_preparation
from stillroom.house.report_settings import DemandSettings, LossSettings
from stillroom.objects import Column, Finding, ReportInputs, ReportResult, ReportTable
from stillroom_plugins.reports.expiry import charts, findings

NOTES: Final = (
    "Used: what sales, and the making of other preparations, took by the specs; first made first used, nothing after "
    "its use-by. Lost: poured away, spoiled, or past its use-by with nothing logged. Unexplained: what the batch book "
    "and the sales do not account for; below zero, the sales took more than the batches held.",
    "The share lost is of what is no longer on hand, from batches made in the period; its interval takes the batches "
    "as the sample.",
    f"What is used in the days a batch keeps: at the rate of the last {WINDOW} days in the data, closed days counted. "
    "What will be left: by the forecast of sales, as in the prep list, if nothing more is made before; what goes into "
    "other preparations is used as their own use asks for it.",
    "A use-by is never to be stretched because something is left: keep times follow the spec and local food codes.",
)


def build(inputs: ReportInputs[LossSettings]) -> ReportResult:
    """Findings, tables and charts of what expires."""
    frames = house_wide(inputs.frames, inputs.house.name)
    fate, currency, period = frames["batch_fate"], inputs.house.currency, inputs.period
    if fate.is_empty():
        return ReportResult(findings=(Finding(sentence="No batch in the batch book yet.", evidence="0 batches."),))
    allowed = inputs.settings.allowed_loss
    last_day = fate["last_day"][0]
    rates = rates_of_use(frames["preparation_use"], last_day)
    summed = fate_by_preparation(fate, period.first, period.last)
    ahead = outlook(fate, use_of_stock(frames, last_day, inputs.house.settings(DemandSettings).calendar()))
    events, daily = frames["batch_happening"], frames["daily_serves"]
    sold = any_sold(daily, period.first, period.last)
    sold_lately = any_sold(daily, last_day - timedelta(days=WINDOW - 1), last_day)
    said = (
        findings.total(summed, period, currency),
        *findings.preparations(summed, fate, rates, events, allowed, currency, period, sold=sold),
        *findings.on_hand(ahead, last_day, currency, sold=sold_lately),
        *findings.unlogged(fate, period),
        *findings.cannot_be(events, fate, period),
    )
    tables = (
        _preparation_table(summed, currency),
        _outlook_table(ahead, currency),
        _batch_table(fate, inputs, currency),
    )
    return ReportResult(
        findings=said,
        tables=tuple(table for table in tables if table.frame.height),
        charts=charts.charts(summed, currency),
        notes=NOTES,
    )


FATE_COLUMNS: Final = {
    "made": Column(label="Made", decimals=0),
    "used": Column(label="Used", decimals=0),
    "poured_away": Column(label="Poured away", decimals=0),
    "spoiled": Column(label="Spoiled", decimals=0),
    "left_at_use_by": Column(label="Past use-by, nothing logged", decimals=0),
    "on_hand": Column(label="On hand", decimals=0),
    "unexplained": Column(label="Unexplained", decimals=0, signed=True),
    "unit": Column(label="Unit"),
}


def _preparation_table(summed: pl.DataFrame, currency: str) -> ReportTable:
    return ReportTable(
        name="preparations",
        title="What became of the batches made in this period, by preparation",
        frame=summed,
        columns={
            "preparation": Column(label="Preparation"),
            "batches": Column(label="Batches"),
            "with_loss": Column(label="Batches with a loss"),
            "lost_share": Column(label="Lost", percent=True, decimals=0),
            "low": Column(label="from", percent=True, decimals=0),
            "high": Column(label="to", percent=True, decimals=0),
            "cost_lost": Column(label="Money lost", unit=currency, decimals=2),
            **FATE_COLUMNS,
            "cost_unexplained": Column(label="Unexplained, at cost", unit=currency, decimals=2, signed=True),
        },
        subjects="preparation",
        note="'From' and 'to' are the 95 % interval of the share lost; at least three finished batches are needed.",
    )


def _outlook_table(ahead: pl.DataFrame, currency: str) -> ReportTable:
    return ReportTable(
        name="on-hand",
        title="Batches on hand, and what will be left of them at their use-by",
        frame=ahead,
        columns={
            "batch": Column(label="Batch"),
            "preparation": Column(label="Preparation"),
            "venue": Column(label="Venue"),
            "use_by": Column(label="Use by"),
            "days_left": Column(label="Days left"),
            "on_hand": Column(label="On hand", decimals=0),
            "unit": Column(label="Unit"),
            "per_day": Column(label="Use a day", decimals=1),
            "verdict": Column(label="By the forecast"),
            "left": Column(label="Left at use-by", decimals=0),
            "left_least": Column(label="at least", decimals=0),
            "left_most": Column(label="at most", decimals=0),
            "cost_left": Column(label="Worth", unit=currency, decimals=2),
        },
        subjects="preparation",
        note="'At least' and 'at most': the 95 % prediction interval.",
    )


def _batch_table(fate: pl.DataFrame, inputs: ReportInputs, currency: str) -> ReportTable:
    made = fate.filter(pl.col("made_on").is_between(inputs.period.first, inputs.period.last))
    return ReportTable(
        name="batches",
        title="Every batch made in this period",
        frame=made.sort("preparation", "made_on", "batch"),
        columns={
            "batch": Column(label="Batch"),
            "preparation": Column(label="Preparation"),
            "version": Column(label="Version"),
            "made_on": Column(label="Made"),
            "use_by": Column(label="Use by"),
            **{name: column for name, column in FATE_COLUMNS.items() if name != "made"},
            "cost_lost": Column(label="Money lost", unit=currency, decimals=2),
        },
        subjects="preparation",
    )
