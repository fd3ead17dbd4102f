"""Report: whether a version of a spec is really better than another, or the panel cannot tell."""

from __future__ import annotations

from stillroom import hookimpl
from stillroom.house.report_settings import PanelSettings
from stillroom.objects import Report


@hookimpl
def register_reports() -> list[Report]:
    """The panel report."""
    return [
        Report(
            name="panel",
            title="Tasting panels",
            question="Is a version really better than another, or can the panel not tell?",
            needs=("panel_scores", "panel_comments", "current_trial", "version_span"),
            build="stillroom_plugins.reports.panel.report:build",
            settings=PanelSettings,
            place=30,
        )
    ]
