"""Which houses a comparison leaves out, since their books cannot be trusted, and how it says so."""

from __future__ import annotations

import polars as pl

from stillroom.analysis.houses.trust import doubtful, left_out_of
from stillroom.words import listed


def marks(books: pl.DataFrame) -> pl.DataFrame:
    """What is wrong with houses' books, as `analysis.houses.trust.doubtful` tells it of the view `house_books`."""
    return doubtful(books)


def trusted(frame: pl.DataFrame, books: pl.DataFrame, comparison: str) -> tuple[pl.DataFrame, tuple[str, ...]]:
    """The rows of houses whose books bear a comparison of waste or of sales, and a note that names the others."""
    out = left_out_of(marks(books), comparison)
    rest = frame.filter(~pl.col("house").is_in(out))
    if not out:
        return rest, ()
    said = f"Left out of the comparison of {comparison}, since their books cannot be trusted: {listed(out, 12)}."
    return rest, (said,)
