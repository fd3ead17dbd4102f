"""Report on a group: what houses sell that others do not, and what they lack."""

from __future__ import annotations

from stillroom import hookimpl
from stillroom.objects import Report


@hookimpl
def register_reports() -> list[Report]:
    """The assortment report."""
    return [
        Report(
            name="assortment",
            title="What others sell",
            question="What does a house sell that the others do not, and what does it lack that they sell well?",
            needs=("house_drinks",),
            build="stillroom_plugins.reports.assortment.report:build",
            grain="group",
            place=50,
        )
    ]
