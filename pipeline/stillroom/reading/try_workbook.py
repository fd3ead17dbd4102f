"""Reads the workbook on standard input and shows nothing: run as a process of its own, which may come to an end."""

from __future__ import annotations

import sys
from typing import Final

MOST_MEMORY: Final = 2**31


def main() -> None:
    """Read every sheet, as `workbook` does; a fault ends the process with another code than 0."""
    import fastexcel

    try:
        import resource  # not there on every system
    except ImportError:
        pass
    else:
        resource.setrlimit(resource.RLIMIT_AS, (MOST_MEMORY, MOST_MEMORY))
    book = fastexcel.read_excel(sys.stdin.buffer.read())
    for name in book.sheet_names:
        book.load_sheet(name, header_row=None, skip_rows=0, dtypes="string")


if __name__ == "__main__":
    main()
