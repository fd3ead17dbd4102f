"""Builds the panel report from its parts."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

import polars as pl

from stillroom.analysis.panel.verdicts import compare_versions
from stillroom.analysis.specs.versions import Versions
from stillroom.analysis.trials.answers import ALIKE_BELOW
from stillroom.house.report_settings import PanelSettings
from stillroom.objects import Finding, ReportInputs, ReportResult
from stillroom.words import counted, day_text
from stillroom_plugins.reports.panel import charts, findings, liking, tables, tasters
from stillroom_plugins.reports.panel.trials import trial_results

NOTES: tuple[str, ...] = (
    "Every panelist is compared with themselves (the panelist is the block): strict and generous tasters count alike.",
    "Better and worse are said of liking alone; of other attributes only more or less: more is not always better. "
    "Cannot tell means just that: not that the versions are alike.",
    "Scores of different sessions are joined only through versions that were in both.",
)


def build(inputs: ReportInputs[PanelSettings]) -> ReportResult:
    """Findings, tables and charts of all tastings up to the end of the period."""
    settings = inputs.settings
    last = inputs.period.last
    scores, trials, comments = (
        inputs.frames[name].filter(pl.col("tasted_on") <= last)
        for name in ("panel_scores", "current_trial", "panel_comments")
    )
    notes = (*NOTES, *_left_out(inputs))
    if scores.is_empty() and trials.is_empty():
        return ReportResult(findings=(_nothing(last),), notes=notes)
    versions = Versions(inputs.frames["version_span"])
    named = {*scores["spec"].to_list(), *trials["spec"].to_list()}
    serving = {spec: number for spec in named if (number := versions.in_service(spec, last)) is not None}

    if not settings.show_names:
        scores = tasters.by_code(scores)
    comparison = compare_versions(scores, serving, settings.margin)
    trial_findings, trial_tables = trial_results(trials, serving, settings.alike_below or ALIKE_BELOW)
    penalty_findings, penalty_tables, penalty_charts = liking.penalty_results(scores)
    driver_findings, driver_tables, _ = liking.driver_results(comparison)
    history_tables, history_charts = liking.history_results(scores)
    taster_tables, taster_charts = tasters.taster_results(scores)
    return ReportResult(
        findings=(
            *findings.on_specs(comparison, serving),
            *trial_findings,
            *penalty_findings,
            *findings.on_character(comparison),
            *driver_findings,
            *findings.on_doubts(comparison),
        ),
        tables=(
            *tables.tables(comparison),
            *trial_tables,
            *penalty_tables,
            *driver_tables,
            *history_tables,
            *taster_tables,
            *tables.comments(comments, show_names=settings.show_names),
        ),
        charts=(*charts.charts(comparison), *history_charts, *penalty_charts, *taster_charts),
        notes=notes,
    )


def _left_out(inputs: ReportInputs) -> Iterator[str]:
    for name, what in (("panel_scores", "tasting"), ("current_trial", "difference or preference")):
        later = inputs.frames[name].filter(pl.col("tasted_on") > inputs.period.last)
        if later.height:
            count = counted(later["session"].n_unique(), f"{what} session")
            yield f"{count} after {day_text(inputs.period.last)} left out."


def _nothing(last: date) -> Finding:
    return Finding(
        sentence=f"No tastings up to {day_text(last)}: there is nothing to compare.",
        evidence="No row in the tasting and trial sheets.",
        sureness="cannot tell",
    )
