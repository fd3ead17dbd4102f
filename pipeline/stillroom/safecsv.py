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
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(headings)
    writer.writerows(["" if cell is None else neutralised(str(cell)) for cell in row] for row in rows)
    return text.getvalue()
