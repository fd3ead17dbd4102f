"""What was made, and what became of it."""

from __future__ import annotations

from stillroom import hookimpl
from stillroom.objects import Source


@hookimpl
def register_sources() -> list[Source]:
    """The batch book."""
    return [
        Source(
            name="batch-book",
            title="the batch book: batches, and what became of them",
            tables=("batch", "batch_event"),
        )
    ]
