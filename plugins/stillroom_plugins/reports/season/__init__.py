"""Report: how each drink on the menu sold this season, what it earned, and where it is going."""

from __future__ import annotations

from stillroom import hookimpl
from stillroom.objects import Report


@hookimpl
def register_reports() -> list[Report]:
    """The season report."""
    return [
        Report(
            name="season",
            title="The season",
            question="Which drinks sell, which earn their place, and which way are they going?",
            needs=("daily_serves", "other_sales", "unmatched_sales", "spec_cost", "current_spec"),
            build="stillroom_plugins.reports.season.report:build",
            place=10,
        )
    ]
