"""What was sold, as a till writes it out."""

from __future__ import annotations

from stillroom import hookimpl
from stillroom.objects import Source


@hookimpl
def register_sources() -> list[Source]:
    """The till export."""
    return [
        Source(
            name="till-export",
            title="a till's export: what was sold, when and for how much",
            tables=("sale",),
        )
    ]
