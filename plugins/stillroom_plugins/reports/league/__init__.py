"""Report on a group: where the money goes that is lost."""

from __future__ import annotations

from stillroom import hookimpl
from stillroom.objects import Report


@hookimpl
def register_reports() -> list[Report]:
    """The league report."""
    return [
        Report(
            name="league",
            title="Waste in money",
            question="Which preparations and which houses lose most money, and how far can the order be trusted?",
            needs=("waste_money", "house_books"),
            build="stillroom_plugins.reports.league.report:build",
            grain="group",
            place=20,
        )
    ]
