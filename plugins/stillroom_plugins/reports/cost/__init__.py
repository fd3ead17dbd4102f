"""Report: what a serve costs, where the money goes, and what a change of price does."""

from __future__ import annotations

from stillroom import hookimpl
from stillroom.objects import Report
from stillroom_plugins.reports._needs import NEEDS


@hookimpl
def register_reports() -> list[Report]:
    """The cost report."""
    return [
        Report(
            name="cost",
            title="What a serve costs",
            question="What does each serve cost, where does the money go, and what do price changes do?",
            needs=(*NEEDS, "part_cost", "spec_cost", "price_change", "daily_serves"),
            build="stillroom_plugins.reports.cost.report:build",
            place=70,
        )
    ]
