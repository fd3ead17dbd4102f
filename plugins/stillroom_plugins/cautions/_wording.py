"""Finding words in what a spec says, and in the names of what is in it."""

from __future__ import annotations

import re
from collections.abc import Iterable
from functools import cache


def word_in(text: str, words: Iterable[str]) -> str | None:
    """The first place in a text where one of some words begins a word, without case."""
    found = _pattern(tuple(words), "").search(text)
    return found[0].casefold() if found else None


def named(items: Iterable[str], words: Iterable[str], but_not: Iterable[str] = ()) -> list[str]:
    """The items whose name holds one of the words whole (or its plural), and none of the others."""
    words, but_not = tuple(words), tuple(but_not)
    return [item for item in items if _whole_word(item, words) and not _whole_word(item, but_not)]


def _whole_word(text: str, words: Iterable[str]) -> bool:
    return _pattern(tuple(words), r"s?\b").search(text) is not None


@cache
def _pattern(words: tuple[str, ...], ending: str) -> re.Pattern[str]:
    """Any of some words where a word begins, without case; nothing where there are none."""
    any_of = "|".join(re.escape(word) for word in words) or "(?!)"
    return re.compile(rf"\b(?:{any_of}){ending}", re.IGNORECASE)
