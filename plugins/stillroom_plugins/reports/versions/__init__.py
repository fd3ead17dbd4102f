"""Report on a group: who is on which version."""

from __future__ import annotations

from stillroom import hookimpl
from stillroom.objects import Report


@hookimpl
def register_reports() -> list[Report]:
    """The versions report."""
    return [
        Report(
            name="versions",
            title="Who is on which version",
            question="Which house is on which version of which spec, and since when?",
            needs=("version_spans",),
            build="stillroom_plugins.reports.versions.report:build",
            grain="group",
            place=30,
        )
    ]
