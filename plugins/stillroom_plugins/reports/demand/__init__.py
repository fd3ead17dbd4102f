"""Report: what will be sold and used in the days to come, and how far such forecasts can be trusted here."""

from __future__ import annotations

from stillroom import hookimpl
from stillroom.house.report_settings import DemandSettings
from stillroom.objects import Report


@hookimpl
def register_reports() -> list[Report]:
    """The demand report."""
    return [
        Report(
            name="demand",
            title="What will be sold",
            question="How many serves, and how much of each preparation, in the coming days, and how sure is that?",
            needs=("daily_serves", "current_spec", "preparation_use", "batch_fate"),
            build="stillroom_plugins.reports.demand.report:build",
            settings=DemandSettings,
            place=60,
        )
    ]
