"""What was made, and what became of it."""

from __future__ import annotations

from stillroom import hookimpl
from stillroom.objects import Source
from stillroom.reading import read_batches, read_headings


@hookimpl
def register_sources() -> list[Source]:
    """The batch book."""
    return [
        Source(
            name="batch-book",
            title="the batch book: batches, and what became of them",
            tables=(
                "batch",
                "batch_event",
            ),
            headings=read_headings,
            read=read_batches,
        )
    ]
