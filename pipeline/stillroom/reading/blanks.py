"""Which cells and rows are blank: seen at the first letter of nearly every cell, without a look at the rest."""

from __future__ import annotations

from collections.abc import Sequence

import polars as pl


def blank(cells: pl.Series) -> pl.Series:
    """Cells that are empty or hold white space alone (a mask)."""
    # All white space of ASCII sorts before its first mark, and the rest behind its last.
    maybe = ((cells < "!") | (cells >= "\x80")).fill_null(True)
    places = maybe.arg_true()
    return maybe.scatter(places, cells.gather(places).fill_null("").str.strip_chars() == "") if len(places) else maybe


def blank_rows(rows: pl.DataFrame, headings: Sequence[str]) -> pl.Series:
    """Rows that are blank under all of these headings, of which there is at least one (a mask)."""
    first, *others = headings
    found = blank(rows[first])
    for heading in others:
        places = found.arg_true()
        if not len(places):
            break
        found = found.scatter(places, blank(rows[heading].gather(places)))
    return found
