"""Report on a group: houses beside each other."""

from __future__ import annotations

from stillroom import hookimpl
from stillroom.objects import Report


@hookimpl
def register_reports() -> list[Report]:
    """The houses report."""
    return [
        Report(
            name="houses",
            title="Houses beside each other",
            question="Which house loses more of a preparation, or sells more of a drink, than chance and size explain?",
            needs=("waste_shares", "drink_shares", "house_books"),
            build="stillroom_plugins.reports.houses.report:build",
            grain="group",
            place=10,
        )
    ]
