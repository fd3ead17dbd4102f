"""Rows added to a file as it is kept, CSV or XLSX; not a byte of what stands there changes but by them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from stillroom.errors import FileRefused
from stillroom.objects import SourceFile

Cell = str | float
BY_HAND: Final = "; rows are added to CSV and XLSX files: write them there yourself"


@dataclass(frozen=True, kw_only=True)
class NewRow:
    """A row to add: the cells of one that is there, some of them other."""

    like: int
    """Number of the row that it is like."""
    cells: Mapping[str, Cell]
    """Heading -> what stands there instead."""


def with_rows(file: SourceFile, content: bytes, headings: Sequence[str], rows: Sequence[NewRow]) -> bytes:
    """The file with these rows added below its last.

    Args:
        content: of the file; rows may have been added to another of its sheets.
        headings: of the file, in their order.

    Raises:
        FileRefused: the file cannot be read, or is of a kind that no row is added to.
    """
    from stillroom.reading.kinds import kind_of
    from stillroom.writing import text_rows, workbook_rows

    match kind_of(file):
        case "delimited text":
            return text_rows.with_rows(file, content, headings, rows)
        case "a workbook":
            return workbook_rows.with_rows(file, content, headings, rows)
        case kind:
            raise FileRefused(f"{file.name}: is {kind}{BY_HAND}.")


def number_text(value: float, decimal: str | None) -> str:
    """A number as the file writes numbers.

    >>> number_text(22.5, ","), number_text(3.0, None)
    ('22,5', '3')
    """
    return f"{value:.12g}".replace(".", decimal or ".")
