"""Report on a group: panels of many houses on one question."""

from __future__ import annotations

from stillroom import hookimpl
from stillroom.objects import Report


@hookimpl
def register_reports() -> list[Report]:
    """The panels report."""
    return [
        Report(
            name="panels",
            title="Panels of all houses",
            question="Do the panels of the houses together like one version better than another?",
            needs=("panel_means",),
            build="stillroom_plugins.reports.panels.report:build",
            grain="group",
            place=40,
        )
    ]
