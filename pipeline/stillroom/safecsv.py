"""Texts in CSV and spreadsheet files that a spreadsheet would take for a formula, made harmless and back again.

The remedy, an apostrophe before the text, and the characters = + - @, tab and null are those of OWASP ASVS 5.0, 1.2.10;
carriage return, line feed and the full-width forms of the first four are from OWASP's page 'CSV Injection' (this
second list from memory).
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterable
from typing import Final

_STARTS: Final = "=+\\-@\t\r\n\x00\uff1d\uff0b\uff0d\uff20"
_TAKEN_FOR_FORMULA: Final = re.compile(f"'*[{_STARTS}]")
_NEUTRALISED: Final = re.compile(f"'+[{_STARTS}]")
_PLAIN_NUMBER: Final = re.compile(r"[+-]?(\d+([.,]\d*)?|[.,]\d+)([eE][+-]?\d+)?", re.ASCII)


def neutralised(text: str) -> str:
    """The text with an apostrophe before it where a spreadsheet would calculate it; plain numbers stay as they are.

    >>> neutralised("=1+1"), neutralised("-2.5"), neutralised("Lemon")
    ("'=1+1", '-2.5', 'Lemon')
    """
    if _TAKEN_FOR_FORMULA.match(text) and not _PLAIN_NUMBER.fullmatch(text):
        return f"'{text}"
    return text


def restored(text: str) -> str:
    """The text that `neutralised` was given: `restored(neutralised(t)) == t` for every text.

    >>> restored("'=1+1"), restored("'Lemon'")
    ('=1+1', "'Lemon'")
    """
    return text[1:] if _NEUTRALISED.match(text) else text


def csv_text(headings: Iterable[str], rows: Iterable[Iterable[object]]) -> str:
    """Rows as CSV with headings, texts made harmless, None as an empty cell.

    >>> csv_text(["item", "amount"], [["=1+1", 2], ["lemon", None]])
    "item,amount\\n'=1+1,2\\nlemon,\\n"
    """
    return as_rows([headings, *(["" if cell is None else neutralised(str(cell)) for cell in row] for row in rows)])


def as_rows(rows: Iterable[Iterable[str]]) -> str:
    r"""Texts as CSV, just as they are.

    A row with a carriage return is quoted: `csv` leaves a lone one bare, and to readers the row ends there. What
    followed it could begin the next one with a formula.

    >>> as_rows([["fig", "a\rb"], ["lemon", ""]])
    '"fig","a\rb"\nlemon,\n'
    """
    text = io.StringIO()
    bare = csv.writer(text, lineterminator="\n")
    quoted = csv.writer(text, lineterminator="\n", quoting=csv.QUOTE_ALL)
    for row in rows:
        cells = list(row)
        (quoted if any("\r" in cell for cell in cells) else bare).writerow(cells)
    return text.getvalue()


def number_text(value: float, decimal: str | None) -> str:
    """A number as the file writes numbers.

    >>> number_text(22.5, ","), number_text(3.0, None)
    ('22,5', '3')
    """
    return f"{value:.12g}".replace(".", decimal or ".")
