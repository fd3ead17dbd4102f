"""Report: which preparations expire before they are used, what that costs, and what is about to."""

from __future__ import annotations

from stillroom import hookimpl
from stillroom.house.report_settings import LossSettings
from stillroom.objects import Report


@hookimpl
def register_reports() -> list[Report]:
    """The expiry report."""
    return [
        Report(
            name="expiry",
            title="What expires",
            question="Which preparations go to waste, what does it cost, and what is about to expire?",
            needs=("batch_fate", "batch_happening", "current_spec", "daily_serves", "preparation_use"),
            build="stillroom_plugins.reports.expiry.report:build",
            settings=LossSettings,
            place=20,
        )
    ]
