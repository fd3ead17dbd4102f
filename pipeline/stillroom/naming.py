"""How files are called in messages and in the ledger: on one line, and with the sheet where that is taken in alone."""

from __future__ import annotations

import unicodedata


def on_one_line(name: str) -> str:
    """A name with its line ends, control characters and bytes that are no UTF-8 spelt out.

    Neither the store nor a terminal takes them as they are.

    >>> on_one_line("a\\nb\\udce9")
    'a\\\\nb\\\\xe9'
    """
    name = name.encode("utf-8", "surrogateescape").decode("utf-8", "backslashreplace")
    return "".join(c if c.isprintable() or unicodedata.category(c) == "Zs" else _spelt_out(c) for c in name)


def _spelt_out(character: str) -> str:
    return character.encode("unicode_escape").decode()


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
