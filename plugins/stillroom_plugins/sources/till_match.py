"""What the till's spellings stand for."""

from __future__ import annotations

from stillroom import hookimpl
from stillroom.objects import Source


@hookimpl
def register_sources() -> list[Source]:
    """The match file."""
    return [
        Source(
            name="till-match",
            title="the match file: till spellings and the drinks they stand for",
            tables=("till_match",),
            read="stillroom_plugins.sources._as_spelt:read",
        )
    ]
