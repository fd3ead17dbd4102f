"""How files are called in messages and in the ledger, and names shown: on one line, and harmless to a terminal."""

from __future__ import annotations

import re
import shlex
import unicodedata
from collections.abc import Collection
from typing import Final

STEERING: Final = frozenset({"Cc", "Cf", "Cs", "Zl", "Zp"})
"""Categories of Unicode: control and format characters, halves of pairs, parters of lines and paragraphs."""
KEPT: Final = "\n\u200c\u200d"


def on_one_line(name: str) -> str:
    """A name with its line ends, control characters and bytes that are no UTF-8 spelt out.

    Neither the store nor a terminal takes them as they are.

    >>> on_one_line("a\\nb\\udce9")
    'a\\\\nb\\\\xe9'
    """
    return "".join(c if c.isprintable() else c.encode("unicode_escape").decode() for c in as_text(name))


def harmless(text: str, but: Collection[str] = ()) -> str:
    """A text with every character that would steer a terminal, or hide or turn round what stands beside it, as �.

    Line ends stay, and so do the joiners that some scripts need.

    Args:
        but: sequences that stay as they are, such as our own colours.

    >>> harmless("Fig\\x1b[2J\\u202e Sour"), "\\x1b" in harmless("\\x1b[1mFig", ("\\x1b[1m",))
    ('Fig�[2J� Sour', True)
    """
    if but:
        parts = re.split(f"({'|'.join(map(re.escape, but))})", text)
        return "".join(part if place % 2 else harmless(part) for place, part in enumerate(parts))
    if text.isprintable():
        return text
    return "".join("�" if unicodedata.category(c) in STEERING and c not in KEPT else c for c in text)


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


def typed(command: str) -> str:
    """A command to copy, as it stands in a sentence: in quotes that it has not inside.

    >>> print(typed("stillroom gone a.csv"), typed("stillroom gone 'a b.csv'"))
    'stillroom gone a.csv' "stillroom gone 'a b.csv'"
    """
    mark = '"' if "'" in command else "'"
    return f"{mark}{command}{mark}"


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
