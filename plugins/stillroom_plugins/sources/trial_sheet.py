"""What a panel answered in difference and preference tests."""

from __future__ import annotations

from stillroom import hookimpl
from stillroom.objects import Source


@hookimpl
def register_sources() -> list[Source]:
    """The trial sheet."""
    return [
        Source(
            name="trial-sheet",
            title="trial sheets: one answer of a difference or preference test a row",
            tables=("trial",),
            read="stillroom_plugins.sources._by_key:read_answers",
            beside="stillroom.answers.panel_plan.resolving:its_key",
            used_with_those=("replicate", "codes", "answer"),
        )
    ]
