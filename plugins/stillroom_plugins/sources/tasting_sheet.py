"""What a panel scored."""

from __future__ import annotations

from stillroom import hookimpl
from stillroom.objects import Source


@hookimpl
def register_sources() -> list[Source]:
    """The tasting sheet."""
    return [
        Source(
            name="tasting-sheet",
            title="tasting sheets: one score a row",
            tables=("tasting",),
            read="stillroom_plugins.sources._by_key:read_scores",
            beside="stillroom.answers.panel_plan.resolving:its_key",
        )
    ]
