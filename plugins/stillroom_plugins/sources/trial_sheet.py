"""What a panel answered in difference and preference tests."""

from __future__ import annotations

from stillroom import hookimpl
from stillroom.objects import Source
from stillroom.reading import read_batches, read_headings


@hookimpl
def register_sources() -> list[Source]:
    """The trial sheet."""
    return [
        Source(
            name="trial-sheet",
            title="trial sheets: one answer of a difference or preference test a row",
            tables=("trial",),
            headings=read_headings,
            read=read_batches,
        )
    ]
