"""How files are called in messages and in the ledger: on one line, and with the sheet where that is taken in alone."""

from __future__ import annotations

import shlex


def on_one_line(name: str) -> str:
    """A name with its line ends, control characters and bytes that are no UTF-8 spelt out.

    Neither the store nor a terminal takes them as they are.

    >>> on_one_line("a\\nb\\udce9")
    'a\\\\nb\\\\xe9'
    """
    return "".join(c if c.isprintable() else c.encode("unicode_escape").decode() for c in as_text(name))


def as_text(name: str) -> str:
    """A name with its bytes that are no UTF-8 spelt out; no pattern of the settings can find such a file.

    >>> as_text("\\udce9")
    '\\\\xe9'
    """
    return name.encode("utf-8", "surrogateescape").decode("utf-8", "backslashreplace")


def for_a_shell(path: str) -> str:
    """A path as an argument of a command to copy, on one line.

    >>> for_a_shell("a b"), for_a_shell("a\\nb")
    ("'a b'", "$'a\\\\nb'")
    """
    if path.isprintable():
        return shlex.quote(path)
    return "$'" + on_one_line(path.replace("\\", "\\\\").replace("'", "\\'")) + "'"


def with_sheet(name: str, sheet: str) -> str:
    """The name of one sheet of a workbook.

    >>> with_sheet("book.xlsx", "March")
    'book.xlsx, sheet March'
    """
    return name + _suffix(sheet)


def without_sheet(name: str, sheet: str | None) -> str:
    """The name of the workbook itself."""
    return name if sheet is None else name.removesuffix(_suffix(sheet))


def _suffix(sheet: str) -> str:
    return f", sheet {on_one_line(sheet)}"


def column_letters(place: int) -> str:
    """What a spreadsheet calls a column, counted from 0.

    >>> column_letters(0), column_letters(25), column_letters(26)
    ('A', 'Z', 'AA')
    """
    letters = ""
    place += 1
    while place:
        place, rest = divmod(place - 1, 26)
        letters = chr(65 + rest) + letters
    return letters
