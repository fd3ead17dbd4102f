"""Report on a group: houses whose books cannot be trusted."""

from __future__ import annotations

from stillroom import hookimpl
from stillroom.objects import Report


@hookimpl
def register_reports() -> list[Report]:
    """The books report."""
    return [
        Report(
            name="books",
            title="Books in doubt",
            question="Which houses' books cannot be trusted, why, and what are they left out of?",
            needs=("house_books",),
            build="stillroom_plugins.reports.books.report:build",
            grain="group",
            place=60,
        )
    ]
