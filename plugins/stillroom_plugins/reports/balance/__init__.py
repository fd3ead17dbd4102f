"""Report: what is in every drink and preparation, and what each new version changed."""

from __future__ import annotations

from stillroom import hookimpl
from stillroom.objects import Report
from stillroom_plugins.reports._needs import NEEDS


@hookimpl
def register_reports() -> list[Report]:
    """The balance report."""
    return [
        Report(
            name="balance",
            title="What is in the glass",
            question="How strong, sweet and sour is each drink, and what did each new version change?",
            needs=(*NEEDS, "panel_scores"),
            build="stillroom_plugins.reports.balance.report:build",
            place=80,
        )
    ]
