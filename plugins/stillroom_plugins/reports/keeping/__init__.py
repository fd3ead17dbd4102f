"""Report: how long batches really keep, against their labels, and whether their measurements hold still."""

from __future__ import annotations

from stillroom import hookimpl
from stillroom.analysis.specs.views import VIEWS
from stillroom.objects import Report


@hookimpl
def register_reports() -> list[Report]:
    """The keeping report."""
    return [
        Report(
            name="keeping",
            title="How long things keep",
            question="Do batches stay good as long as their label says, and are they made the same each time?",
            needs=(
                *("batch_fate", "current_batch", "panel_scores"),
                *VIEWS,
            ),
            build="stillroom_plugins.reports.keeping.report:build",
            place=50,
        )
    ]
