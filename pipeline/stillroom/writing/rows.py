"""Rows added to a file as it is kept, CSV or XLSX; not a byte of what stands there changes but by them."""

from __future__ import annotations

from collections.abc import Sequence

from stillroom.errors import FileRefused
from stillroom.objects import SourceFile
from stillroom.reading.kinds import kind_of
from stillroom.writing import text_rows, workbook_rows
from stillroom.writing.new_row import BY_HAND, NewRow


def with_rows(file: SourceFile, content: bytes, headings: Sequence[str], rows: Sequence[NewRow]) -> bytes:
    """The file with these rows added below its last.

    Args:
        content: of the file; rows may have been added to another of its sheets.
        headings: of the file, in their order.

    Raises:
        FileRefused: the file cannot be read, or is of a kind that no row is added to.
    """
    match kind_of(file):
        case "delimited text":
            return text_rows.with_rows(file, content, headings, rows)
        case "a workbook":
            return workbook_rows.with_rows(file, content, headings, rows)
        case kind:
            raise FileRefused(f"{file.name}: is {kind}{BY_HAND}.")
