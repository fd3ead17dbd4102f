"""Rows added to delimited text: in its encoding, with its separator and its ends of line."""

from __future__ import annotations

import codecs
import csv
import io
from collections.abc import Sequence

from stillroom.errors import FileRefused
from stillroom.objects import SourceFile
from stillroom.reading import delimited
from stillroom.reading.containers import GZIP, ZIP
from stillroom.safecsv import neutralised, number_text
from stillroom.writing.new_row import BY_HAND, Cell, NewRow

CTRL_Z = b"\x1a"


def with_rows(file: SourceFile, content: bytes, headings: Sequence[str], rows: Sequence[NewRow]) -> bytes:
    """The file with these rows added; all that stands there stays byte for byte.

    Raises:
        FileRefused: the file is packed, or what is to be added cannot be written in its encoding.
    """
    if content.startswith(GZIP) or content[:4] in ZIP:
        raise FileRefused(f"{file.name}: is packed{BY_HAND}.")
    there = _cells(file, {row.like for row in rows})
    encoding = _encoding(file, content)
    text = content.decode(encoding)
    end = "\r\n" if "\r\n" in text else "\r" if "\r" in text and "\n" not in text else "\n"
    out = io.StringIO()
    writer = csv.writer(out, delimiter=delimited.found_top(file).separator, lineterminator=end)
    for row in rows:
        old = dict(zip(headings, there[row.like], strict=True))
        writer.writerow([_written(row.cells[h], file.decimal) if h in row.cells else old[h] for h in headings])
    last = CTRL_Z if content.endswith(CTRL_Z) else b""
    before = "" if text.rstrip("\x1a").endswith(("\n", "\r")) else end
    try:
        added = (before + out.getvalue()).encode(encoding)
    except UnicodeEncodeError as error:
        letter = error.object[error.start]
        raise FileRefused(f"{file.name}: is written in {file.encoding}, which has no '{letter}'.") from None
    return content.removesuffix(last) + added + last


def _cells(file: SourceFile, numbers: set[int]) -> dict[int, tuple[str, ...]]:
    """The cells of some rows, as they stand."""
    found = {}
    for batch in delimited.read_batches(file):
        for number, cells in zip(batch.row_numbers, batch.rows.iter_rows(), strict=True):
            if number in numbers:
                found[number] = tuple(cell or "" for cell in cells)
    return found


def _encoding(file: SourceFile, content: bytes) -> str:
    """The codec of what stands below any byte-order mark."""
    if content.startswith(codecs.BOM_UTF16_LE):
        return "utf-16-le"
    if content.startswith(codecs.BOM_UTF16_BE):
        return "utf-16-be"
    plain = codecs.lookup(file.encoding).name
    return "utf-8" if plain in ("utf-8-sig", "ascii") else plain


def _written(cell: Cell, decimal: str | None) -> str:
    return neutralised(cell) if isinstance(cell, str) else number_text(cell, decimal)
