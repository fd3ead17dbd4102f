"""Report on a group: did a roll-out help?"""

from __future__ import annotations

from stillroom import hookimpl
from stillroom.objects import Report


@hookimpl
def register_reports() -> list[Report]:
    """The roll-out report."""
    return [
        Report(
            name="rollout",
            title="Did the roll-out help?",
            question="Where a new version came to some houses before others: did they sell more, or lose less?",
            needs=("version_spans", "rollout_weeks", "house_books"),
            build="stillroom_plugins.reports.rollout.report:build",
            grain="group",
            place=25,
        )
    ]
