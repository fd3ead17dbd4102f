"""What people commonly call the columns of our tables, in a dozen languages: by these words headings are recognised."""

from __future__ import annotations

import re
import tomllib
import unicodedata
from functools import cache
from pathlib import Path
from typing import Final

LISTED: Final = Path(__file__).with_name("heading_words.toml")


def plain(heading: str) -> str:
    """A heading or a column's name as words to compare: small letters without accents and marks.

    >>> plain("Qty."), plain("soldAt"), plain("net_amount"), plain("Menü %")
    ('qty', 'sold at', 'net amount', 'menu pct')
    """
    text = re.sub(r"(?<=[a-z])(?=[A-Z])", " ", heading).replace("%", " pct ")
    text = "".join(letter for letter in unicodedata.normalize("NFKD", text) if not unicodedata.combining(letter))
    return " ".join(re.findall(r"[^\W_]+", text.casefold()))


@cache
def words_of(column: str) -> list[str]:
    """What a column may be called, its own name first; a plugin's own columns go by their names alone."""
    return list(dict.fromkeys([plain(column), *(plain(word) for word in _listed().get(column, []))]))


@cache
def _listed() -> dict[str, list[str]]:
    return tomllib.loads(LISTED.read_text(encoding="utf-8"))
