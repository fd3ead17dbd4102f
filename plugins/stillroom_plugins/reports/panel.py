"""Report: whether a version of a spec is really better than another, or the panel cannot tell."""

from __future__ import annotations

from datetime import date

import polars as pl

from stillroom import hookimpl
from stillroom.analysis.panel import compare_versions
from stillroom.objects import Finding, Period, Report, ReportInputs, ReportResult
from stillroom_plugins.reports import _panel_charts, _panel_findings, _panel_tables
from stillroom_plugins.reports._panel_options import panel_options
from stillroom_plugins.reports._words import counted

NOTES: tuple[str, ...] = (
    "Every panelist is compared with themselves (the panelist is the block): strict and generous tasters count alike.",
    "Better and worse are said of liking alone; of other attributes only more or less: more is not always better. "
    "Cannot tell means just that: not that the versions are alike.",
    "Scores of different sessions are joined only through versions that were in both.",
)


@hookimpl
def register_reports() -> list[Report]:
    """The panel report."""
    return [
        Report(
            name="panel",
            title="Tasting panels",
            question="Is a version really better than another, or can the panel not tell?",
            needs=("panel_scores", "current_trial", "current_spec"),
            build=build,
        )
    ]


def build(inputs: ReportInputs) -> ReportResult:
    """Findings, tables and charts of all tastings up to the end of the period."""
    options = panel_options(inputs.house.options.get("panel", {}))
    scores = inputs.frames["panel_scores"]
    later = scores.filter(pl.col("tasted_on") > inputs.period.last)
    scores = scores.filter(pl.col("tasted_on") <= inputs.period.last)
    notes = NOTES
    if later.height:
        left_out = counted(later["session"].n_unique(), "session")
        notes += (f"{left_out} after {inputs.period.last} left out.",)
    if scores.is_empty():
        return ReportResult(findings=(_nothing(inputs.period),), notes=notes)
    on_the_day = in_service(inputs.frames["current_spec"], inputs.period.last)
    specs = scores["spec"].unique().to_list()
    serving = {spec: on_the_day[spec.casefold()] for spec in specs if spec.casefold() in on_the_day}
    comparison = compare_versions(scores, serving, options.margin)
    return ReportResult(
        findings=_panel_findings.findings(comparison, serving),
        tables=_panel_tables.tables(comparison),
        charts=_panel_charts.charts(comparison),
        notes=notes,
    )


def in_service(specs: pl.DataFrame, day: date) -> dict[str, int]:
    """The version of each spec (name in small letters) in service on a day: the highest whose span holds it.

    A version without dates is a trial.
    """
    began, ends = pl.col("in_service_from"), pl.col("in_service_until")
    dated = began.is_not_null() | ends.is_not_null()
    held = specs.filter(dated & (began.is_null() | (began <= day)) & (ends.is_null() | (ends >= day)))
    return {spec.casefold(): version for spec, version in held.sort("version").select("spec", "version").rows()}


def _nothing(period: Period) -> Finding:
    return Finding(
        sentence=f"No tastings up to {period.last}: there is nothing to compare.",
        evidence="No row in the tasting sheets.",
        sureness="cannot tell",
    )
