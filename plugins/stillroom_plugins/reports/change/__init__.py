"""Report: whether a new version changed what sells."""

from __future__ import annotations

from stillroom import hookimpl
from stillroom.objects import Report


@hookimpl
def register_reports() -> list[Report]:
    """The change report."""
    return [
        Report(
            name="change",
            title="Did the change help?",
            question="When a new version went into service, did guests order more of it, or less?",
            needs=("daily_serves", "current_spec", "preparation_use"),
            build="stillroom_plugins.reports.change.report:build",
            place=40,
        )
    ]
