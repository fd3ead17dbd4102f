"""What the till's spellings stand for."""

from __future__ import annotations

from stillroom import hookimpl
from stillroom.objects import Source
from stillroom.reading import read_batches, read_headings


@hookimpl
def register_sources() -> list[Source]:
    """The match file."""
    return [
        Source(
            name="till-match",
            title="the match file: till spellings and the drinks they stand for",
            tables=("till_match",),
            headings=read_headings,
            read=read_batches,
        )
    ]
