"""A file as the cells that a person sees, without asking which of its rows holds the headings."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Final

import polars as pl

from stillroom.errors import FileRefused
from stillroom.objects import Malformed, SourceFile
from stillroom.reading import delimited, workbook
from stillroom.reading.kinds import kind_of
from stillroom.reading.records import Records

MOST_ROWS: Final = 50_000
"""A longer file was written by a machine, and is a table."""


@dataclass(frozen=True, kw_only=True)
class Grid:
    """All rows of a file or sheet that hold anything."""

    rows: list[tuple[int, list[str]]]
    """Number of a row, as a spreadsheet shows it, and its tidy cells; '' where one is empty."""
    blank: int
    """How many rows are blank."""


def read_grid(file: SourceFile) -> Grid:
    """The cells of delimited text or of a sheet.

    Raises:
        FileRefused: it cannot be read, is of a kind that has no cells, or is longer than a book is.
    """
    kind = kind_of(file)
    if kind == "delimited text":
        rows = list(_of_text(file))
    elif kind == "a workbook":
        cells = workbook.chosen_sheet(file).cells
        cells = cells.select(workbook.as_written(cells[name]) for name in cells.columns)
        rows = [(number, [" ".join((cell or "").split()) for cell in row]) for number, row in _numbered(cells)]
    else:
        raise FileRefused(f"{file.name}: is {kind}, which is read as a table and not as a book.")
    filled = [(number, cells) for number, cells in rows if any(cells)]
    return Grid(rows=filled, blank=len(rows) - len(filled))


def _numbered(cells: pl.DataFrame) -> Iterator[tuple[int, tuple[str | None, ...]]]:
    if cells.height > MOST_ROWS:
        raise FileRefused(f"has {cells.height:,} rows, too many to be a book.")
    return iter(enumerate(cells.iter_rows(), 1))


def _of_text(file: SourceFile) -> Iterator[tuple[int, list[str]]]:
    separator = file.separator or delimited.found_top(file).separator
    number = 0
    for piece in delimited.text_pieces(file):
        for record in Records(replace(file, separator=separator), piece, number + 1):
            number += 1
            if number > MOST_ROWS:
                raise FileRefused(f"{file.name}: has more than {MOST_ROWS:,} rows, too many to be a book.")
            cells = record.cells if isinstance(record, Malformed) else record
            yield number, [" ".join(cell.split()) for cell in cells]
