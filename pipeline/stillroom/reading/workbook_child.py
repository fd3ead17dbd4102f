"""Reads workbooks in a process of its own, which may run out of memory or go round in circles; run by `books`.

In: the length of a workbook, and its bytes; and so on. Out: a line of JSON with the sheets or a fault, and of every
sheet, as Arrow, its cells and which of them are numbers. It imports nothing of ours.
"""

from __future__ import annotations

import io
import json
import sys
from typing import TYPE_CHECKING, BinaryIO, Final

import polars as pl

if TYPE_CHECKING:
    from fastexcel import ExcelReader

MOST_MEMORY: Final = 2 * 2**30


def main() -> None:
    """Read one workbook after another, until there are none."""
    try:
        import resource  # not there on every system
    except ImportError:
        pass
    else:
        resource.setrlimit(resource.RLIMIT_AS, (MOST_MEMORY, MOST_MEMORY))
    import fastexcel
    from polars.exceptions import PanicException

    given, told = sys.stdin.buffer, sys.stdout.buffer
    while size := given.readline():
        content = given.read(int(size))
        try:
            _tell(fastexcel.read_excel(content), told)
        except (Exception, PanicException) as error:  # the reader is not ours: whatever it raises is told
            told.write(json.dumps({"fault": str(error).partition("\n")[0]}).encode() + b"\n")
        told.flush()


def _arrow(frame: pl.DataFrame) -> bytes:
    arrow = io.BytesIO()
    frame.write_ipc(arrow)
    return arrow.getvalue()


def _tell(book: ExcelReader, told: BinaryIO) -> None:
    sheets: list[dict[str, object]] = []
    cells: list[bytes] = []
    for name in book.sheet_names:
        sheet = book.load_sheet(name, header_row=None, skip_rows=0, dtypes="string")
        # As a whole number the reader hands over any number, cut off; of texts those alone that are whole numbers.
        whole = book.load_sheet(name, header_row=None, skip_rows=0, dtypes="int").to_polars()
        both = _arrow(sheet.to_polars()), _arrow(whole.select(pl.all().is_not_null()))
        cells += both
        sizes = {"bytes": len(both[0]), "more_bytes": len(both[1])}
        sheets.append({"name": name, "shown": sheet.visible == "visible", **sizes})
    told.write(json.dumps({"sheets": sheets}).encode() + b"\n")
    told.writelines(cells)


if __name__ == "__main__":
    main()
