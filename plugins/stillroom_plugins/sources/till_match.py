"""What the till's spellings stand for."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import polars as pl

from stillroom import hookimpl
from stillroom.objects import Source, SourceFile, TextBatch
from stillroom.reading import read_batches, read_headings
from stillroom.safecsv import restored


@hookimpl
def register_sources() -> list[Source]:
    """The match file."""
    return [
        Source(
            name="till-match",
            title="the match file: till spellings and the drinks they stand for",
            tables=("till_match",),
            headings=read_headings,
            read=_read,
        )
    ]


def _read(file: SourceFile) -> Iterator[TextBatch]:
    """The rows, with names as the till spells them: `stillroom match` makes those harmless that begin like formulas."""
    for batch in read_batches(file):
        plain = pl.all().map_elements(restored, return_dtype=pl.String, skip_nulls=True)
        yield replace(batch, rows=batch.rows.with_columns(plain))
