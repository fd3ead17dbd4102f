"""Report: the shortlist of drinks and preparations to reformulate or re-size, with all evidence side by side."""

from __future__ import annotations

from stillroom import hookimpl
from stillroom.objects import Report


@hookimpl
def register_reports() -> list[Report]:
    """The rework report."""
    return [
        Report(
            name="rework",
            title="What to rework",
            question="Which drinks and preparations should be reformulated or re-sized first, and on what evidence?",
            needs=(
                "daily_serves",
                "current_spec",
                "version_span",
                "spec_cost",
                "batch_fate",
                "panel_scores",
                "preparation_use",
            ),
            build="stillroom_plugins.reports.rework.report:build",
            place=25,
        )
    ]
