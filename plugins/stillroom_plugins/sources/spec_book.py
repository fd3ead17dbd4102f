"""The specs and their lines."""

from __future__ import annotations

from stillroom import hookimpl
from stillroom.objects import Source
from stillroom.reading import read_batches, read_headings


@hookimpl
def register_sources() -> list[Source]:
    """The spec book."""
    return [
        Source(
            name="spec-book",
            title="the spec book: specs, and what goes into them",
            tables=(
                "spec",
                "spec_line",
            ),
            headings=read_headings,
            read=read_batches,
        )
    ]
