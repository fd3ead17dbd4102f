"""The words that a column may hold, and what people write for them in a dozen languages."""

from __future__ import annotations

import tomllib
from collections.abc import Sequence
from functools import cache
from pathlib import Path
from typing import Final

WORDS: Final = Path(__file__).with_name("value_words.toml")


def spellings(allowed: Sequence[str]) -> dict[str, str]:
    """What may be written, in small letters -> the word of `allowed` that it stands for.

    >>> found = spellings(["used up", "spoiled"])
    >>> found["aufgebraucht"], found["spoiled"], "weggeschüttet" in found
    ('used up', 'spoiled', False)
    """
    own = {word.casefold(): word for word in allowed}
    also = {word: own[target] for target, several in _words().items() if target in own for word in several}
    return also | own


@cache
def _words() -> dict[str, list[str]]:
    return tomllib.loads(WORDS.read_text(encoding="utf-8"))
