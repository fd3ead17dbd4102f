"""What is bought, at what price, and what is in it."""

from __future__ import annotations

from stillroom import hookimpl
from stillroom.objects import Source


@hookimpl
def register_sources() -> list[Source]:
    """The price list."""
    return [
        Source(
            name="price-list",
            title="the price list: ingredients, packs, prices",
            tables=("ingredient",),
        )
    ]
