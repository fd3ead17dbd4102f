"""How names compare, everywhere: without case, without accents, and whatever apostrophe or dash a keyboard has.

One rule with two forms that give the same key: in Python for one name, in SQL for a column. Accents are the marks that
Unicode's canonical decomposition (UAX #15) parts from Latin, Greek and Cyrillic letters; letters that it leaves whole
go as CLDR's transliteration from Latin to ASCII has them. In other scripts a mark makes another letter, and stays.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Sequence
from difflib import get_close_matches
from functools import lru_cache
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    import polars as pl

_SINGLE: Final = dict(zip("øØłŁđĐħĦŧŦıİ’‘ʼ´‐‑‒–—", "oOlLdDhHtTiI''''-----", strict=True))
_DOUBLE: Final = {"ß": "ss", "ẞ": "SS", "æ": "ae", "Æ": "AE", "œ": "oe", "Œ": "OE"}
_LETTERS: Final = str.maketrans(_SINGLE | _DOUBLE)
_OTHER_SCRIPTS: Final = "\u0590-\u1aaf\u1b00-\u1dbf\u2c00-\U0010ffff"
"""Between them stand Latin, Greek, Cyrillic, Armenian, the accents, and signs that belong to no script."""
MOST_KEPT: Final = 2**16
"""Names whose keys are kept: a report asks for those of the same few hundred ninety thousand times."""
_OTHER: Final = re.compile(f"[{_OTHER_SCRIPTS}]")


@lru_cache(MOST_KEPT)
def name_key(name: str) -> str:
    """What a name is compared by.

    >>> name_key("Crème Brûlée Flip"), name_key("Netmender’s Knot"), name_key("Smørrebrød")
    ('creme brulee flip', "netmender's knot", 'smorrebrod')
    """
    if name.isascii() or _OTHER.search(name):
        return name.replace("İ", "I").lower()  # the one letter that Python alone lowers to two
    apart = unicodedata.normalize("NFD", name.translate(_LETTERS))
    bare = "".join(letter for letter in apart if unicodedata.category(letter)[0] != "M")
    return unicodedata.normalize("NFC", bare).lower()


def nearest(name: str, names: Sequence[str]) -> str | None:
    """The name that was perhaps meant: one that this is part of, else one that is spelt nearly so.

    >>> nearest("Kelp te", ["Fig Sour", "Kelp tea"]), nearest("gin", ["Fig Sour"])
    ('Kelp tea', None)
    """
    keys = {name_key(one): one for one in reversed(names)}
    whole = next((one for one in names if name and name_key(name) in name_key(one)), None)
    near = get_close_matches(name_key(name), list(keys), n=1)
    return whole or (keys[near[0]] if near else None)


def key_of(column: pl.Expr) -> pl.Expr:
    """The keys of a column of names."""
    import polars as pl

    return column.map_elements(name_key, return_dtype=pl.String)


def key_in_sql(name: str) -> str:
    """The key of a name, in SQL; `name` is an expression."""
    plain = f"translate({name}, {_quoted(''.join(_SINGLE))}, {_quoted(''.join(_SINGLE.values()))})"
    for letter, letters in _DOUBLE.items():
        plain = f"replace({plain}, {_quoted(letter)}, {_quoted(letters)})"
    other = r"[\x{0590}-\x{1aaf}\x{1b00}-\x{1dbf}\x{2c00}-\x{10ffff}]"
    whole = f"strlen({name}) = length({name}) OR regexp_matches({name}, '{other}')"  # ASCII first: it costs nothing
    return f"lower(CASE WHEN {whole} THEN {name} ELSE strip_accents({plain}) END)"


def _quoted(text: str) -> str:
    return "'" + text.replace("'", "''") + "'"
