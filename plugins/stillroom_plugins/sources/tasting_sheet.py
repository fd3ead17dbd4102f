"""What a panel scored."""

from __future__ import annotations

from stillroom import hookimpl
from stillroom.objects import Source
from stillroom.reading import read_batches, read_headings


@hookimpl
def register_sources() -> list[Source]:
    """The tasting sheet."""
    return [
        Source(
            name="tasting-sheet",
            title="tasting sheets: one score a row",
            tables=("tasting",),
            headings=read_headings,
            read=read_batches,
        )
    ]
