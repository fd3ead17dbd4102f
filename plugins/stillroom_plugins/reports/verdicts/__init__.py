"""Report: keep, rework or drop: the table that a review meeting ends with, and what became of the last verdicts."""

from __future__ import annotations

from stillroom import hookimpl
from stillroom.objects import Report


@hookimpl
def register_reports() -> list[Report]:
    """The verdicts report."""
    return [
        Report(
            name="verdicts",
            title="Keep, rework or drop",
            question="Which drinks and preparations to keep, which to rework, which to drop, and what did we say last?",
            needs=(
                "daily_serves",
                "current_spec",
                "version_span",
                "spec_cost",
                "batch_fate",
                "panel_scores",
                "preparation_use",
                "part_span",
            ),
            build="stillroom_plugins.reports.verdicts.report:build",
            place=28,
        )
    ]
