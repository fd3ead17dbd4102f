"""Files with names that a till spells in its own way."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import polars as pl

from stillroom.objects import SourceFile, TextBatch
from stillroom.reading import read_batches
from stillroom.safecsv import restored


def read(file: SourceFile) -> Iterator[TextBatch]:
    """The rows, with names as the till spells them: `stillroom match` makes those harmless that begin like formulas."""
    for batch in read_batches(file):
        plain = pl.all().map_elements(restored, return_dtype=pl.String, skip_nulls=True)
        yield replace(batch, rows=batch.rows.with_columns(plain))
