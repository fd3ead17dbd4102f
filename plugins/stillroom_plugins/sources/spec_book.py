"""The specs and their lines."""

from __future__ import annotations

from stillroom import hookimpl
from stillroom.objects import Source


@hookimpl
def register_sources() -> list[Source]:
    """The spec book."""
    return [
        Source(
            name="spec-book",
            title="the spec book: specs, and what goes into them",
            tables=("spec", "spec_line"),
        )
    ]
