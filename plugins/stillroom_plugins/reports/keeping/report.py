"""Report: how long batches really keep, against their labels, and whether their measurements hold still."""

from __future__ import annotations

from typing import Final

import polars as pl

from stillroom.analysis.batches.keeping import batch_lives
from stillroom.analysis.batches.kept import CONFIDENCE, Kept, kept_by_preparation, survival_table
from stillroom.analysis.batches.measured import MeasuredSeries, kept_worse, liking_of_batches, measured_series
from stillroom.analysis.specs.book import SpecBook
from stillroom.glossary import named
from stillroom.names import key_of
from stillroom.objects import Column, ReportInputs, ReportResult, ReportTable
from stillroom_plugins.reports.keeping import charts, findings

NOTES: Final = (
    "A batch used up, poured away for another reason or past its use-by was good as long as it was watched. One found "
    "spoiled went between the last day on which it served or was handled and the day it was found. All batches up to "
    "the end of the period count, not the period's alone.",
    "The keep that batches bear out is the day by which, with 80 % confidence, no more than 1 in 10 is gone; it needs "
    "three spoiled batches, and is never longer than the label. Where versions or kinds of storage do not keep alike "
    "(log-rank test, 5 %), each stands by itself.",
    "These data can show that something keeps less long than its label says. They cannot show that it keeps longer: "
    "nothing is watched past its use-by. A longer keep needs a holding test (several batches held to the longer date "
    "in their real storage, with pH, taste and, where local codes ask for it, laboratory counts), and the word of "
    "whoever is responsible under local food codes. Looking and tasting do not show whether something is safe.",
    "Control limits: mean and 2.66 mean moving ranges (individuals chart). A refractometer reads acid as sugar, and "
    "alcohol wrongly: the figure of the spec is sugar and acid together, and is left out where there is alcohol or an "
    "ingredient whose sugar is not known.",
)


def build(inputs: ReportInputs) -> ReportResult:
    """Findings, tables and charts of how long batches keep."""
    frames = inputs.frames
    until = pl.col("made_on") <= inputs.period.last
    fate = frames["batch_fate"].filter(until)
    measured = frames["current_batch"].select(key_of(pl.col("batch")).alias("key"), "brix", "ph")
    book = fate.with_columns(key_of(pl.col("batch")).alias("key")).join(measured, on="key", how="left")
    lives = batch_lives(fate)
    kept = kept_by_preparation(lives)
    series = measured_series(book, SpecBook(frames, inputs.period.last))
    liking = liking_of_batches(series, fate, frames["panel_scores"])
    tables = (_kept_table(kept), _survival_table(survival_table(lives)), _measured_table(series), _liking_table(liking))
    return ReportResult(
        findings=findings.findings(kept, series, kept_worse(series, lives), liking),
        tables=tuple(table for table in tables if table.frame.height),
        charts=charts.charts(kept, series),
        notes=NOTES,
    )


KEPT: Final = {
    "preparation": pl.String,
    "version": pl.Int64,
    "storage": pl.String,
    **dict.fromkeys(("label_days", "keep_days", "batches", "spoiled"), pl.Int64),
    **dict.fromkeys(("tenth", "tenth_low", "good", "low", "high", "gone_tenth", "gone_half"), pl.Float64),
    **dict.fromkeys(("weibull_shape", "weibull_scale"), pl.Float64),
    **dict.fromkeys(("versions_p", "versions_chi_squared", "storage_p", "storage_chi_squared"), pl.Float64),
}


def _kept_row(one: Kept) -> dict[str, object]:
    curve, weibull = one.curve, one.weibull
    at_label = curve.good_after(one.label_days) if one.label_days is not None and one.spoiled else (None, None, None)
    good, low, high = at_label
    return {
        "preparation": one.preparation,
        "version": one.version,
        "storage": one.storage,
        "label_days": one.label_days,
        "keep_days": one.keep_days if one.gone_by else None,
        "batches": one.batches,
        "spoiled": one.spoiled,
        "tenth": one.gone_by.within(0.5) if one.gone_by else None,
        "tenth_low": one.gone_by.within(1 - CONFIDENCE) if one.gone_by else None,
        "good": good,
        "low": low,
        "high": high,
        "gone_tenth": one.went.day_by_which(0.1) if one.went else None,
        "gone_half": one.went.day_by_which(0.5) if one.went else None,
        "weibull_shape": weibull.shape if weibull else None,
        "weibull_scale": weibull.scale if weibull else None,
        "versions_p": one.by_version.p_value if one.by_version else None,
        "versions_chi_squared": one.by_version.chi_squared if one.by_version else None,
        "storage_p": one.by_storage.p_value if one.by_storage else None,
        "storage_chi_squared": one.by_storage.chi_squared if one.by_storage else None,
    }


def _kept_table(kept: list[Kept]) -> ReportTable:
    frame = pl.DataFrame([_kept_row(one) for one in kept], schema=KEPT)
    frame = frame.sort("spoiled", "preparation", descending=[True, False])
    return ReportTable(
        name="kept",
        title="How long batches kept, by preparation",
        frame=frame,
        subjects="preparation",
        columns={
            **named("preparation"),
            **({"version": Column(label="Version")} if frame["version"].count() else {}),
            **({"storage": Column(label="Storage")} if frame["storage"].count() else {}),
            "label_days": Column(label="Label", unit="days"),
            "keep_days": Column(label="Keep borne out", unit="days"),
            **named("batches"),
            "spoiled": Column(label="Spoiled before use-by"),
            "tenth": Column(label="1 in 10 gone by about", unit="days", decimals=1),
            "tenth_low": Column(label="no sooner than", unit="days", decimals=1),
            "good": Column(label="Good at the label's day", percent=True, decimals=0),
            "low": Column(label="from", percent=True, decimals=0),
            "high": Column(label="to", percent=True, decimals=0),
            "gone_tenth": Column(label="1 in 10 seen gone by", unit="days", decimals=0),
            "gone_half": Column(label="Half seen gone by", unit="days", decimals=0),
            "weibull_shape": Column(label="Weibull shape", decimals=2),
            "weibull_scale": Column(label="Weibull scale", unit="days", decimals=1),
            "versions_p": Column(label="Versions alike, p", decimals=3, p_value=True),
            "storage_p": Column(label="Storage alike, p", decimals=3, p_value=True),
        },
        note="'No sooner than' and the keep: with 80 % confidence, from Weibull lives that ended between two looks. "
        "'Seen gone by': Turnbull's estimate, without a model. Empty: not reached, or too few spoiled batches "
        "(three; a Weibull shape needs five).",
    )


def _survival_table(frame: pl.DataFrame) -> ReportTable:
    return ReportTable(
        name="good-by-day",
        title="What is still good, by days from making",
        frame=frame,
        subjects="preparation",
        statistics=True,
        columns={
            **named("preparation", "version"),
            "day": Column(label="Day", decimals=0),
            "at_risk": Column(label="Watched until then"),
            "spoiled": Column(label="Spoiled that day"),
            "good": Column(label="Still good", percent=True, decimals=1),
            "low": Column(label="from", percent=True, decimals=1),
            "high": Column(label="to", percent=True, decimals=1),
        },
        note="Kaplan-Meier with 95 % intervals (log-minus-log), by the days on which spoiled batches were found. "
        "Version empty: all versions together.",
    )


def _measured_table(series: list[MeasuredSeries]) -> ReportTable:
    rows = [
        {
            "preparation": one.preparation,
            "measure": findings.MEASURES[one.measure],
            "batches": one.batches.height,
            "mean": sum(one.in_force) / len(one.in_force),
            "target": one.target,
            "low": one.chart.low,
            "high": one.chart.high,
            "middle": one.chart.middle,
            "mean_range": one.chart.mean_range,
            "range_high": one.chart.range_high,
            "off": ", ".join(one.off_target) or None,
            "since": None if one.stepped_at is None else one.batches["made_on"][one.stepped_at],
            "drift": one.course.slope if one.course.kind == "slope" else None,
        }
        for one in series
    ]
    schema = {"target": pl.Float64, "drift": pl.Float64, "off": pl.String, "since": pl.Date}
    return ReportTable(
        name="measured",
        title="Measured °Brix and pH, batch by batch",
        frame=pl.DataFrame(rows, schema_overrides=schema) if rows else pl.DataFrame(),
        subjects="preparation",
        columns={
            **named("preparation"),
            "measure": Column(label="Measure"),
            **named("batches"),
            "since": Column(label="Level since"),
            "mean": Column(label="Mean of it", decimals=2),
            "target": Column(label="By the spec", decimals=1),
            "low": Column(label="Lower limit", decimals=2),
            "high": Column(label="Upper limit", decimals=2),
            "off": Column(label="Outside the limits"),
            "drift": Column(label="Drift a batch", decimals=3, signed=True),
        },
    )


def _liking_table(liking: pl.DataFrame) -> ReportTable:
    return ReportTable(
        name="liking",
        title="Measured batches that a panel can have tasted",
        frame=liking,
        subjects="preparation",
        columns={
            **named("preparation", "batch", "session"),
            "liking": Column(label="Mean liking, share of the scale", percent=True, decimals=0),
            "panelists": Column(label="Scores"),
            "off_target": Column(label="Outside the limits"),
        },
        note="The sheet does not name the batch: it is the one of that version made last before the session.",
    )
