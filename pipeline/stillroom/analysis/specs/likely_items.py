"""Which common ingredient a name may stand for that the price list says nothing of: asked, never assumed."""

from __future__ import annotations

import tomllib
from collections.abc import Iterable
from functools import cache
from pathlib import Path
from typing import Final

from stillroom.names import name_key

WORDS: Final = Path(__file__).with_name("common_names.toml")
ALIKE: Final = 88.0
"""Of 100 (normalised indel similarity): 'lemmon juice' has 96 with 'lemon juice', 'lime juice' 76."""


def proposals(items: Iterable[str], common: Iterable[str]) -> dict[str, str]:
    """Item -> the common ingredient that it may be, for those that may be one.

    By its name in another language, by a near spelling, or by the name within it ('fresh Lemon Juice, 1 l').

    Args:
        items: names as the house writes them.
        common: plain names of common ingredients.
    """
    names = {name_key(name) for name in common}
    return {item: found for item in items if (found := _likely(name_key(item), names))}


def _likely(item: str, names: set[str]) -> str | None:
    from rapidfuzz import fuzz, process

    if (said := _elsewhere().get(item)) in names:
        return said
    near = process.extractOne(item, sorted({*names, *_elsewhere()}), scorer=fuzz.ratio, score_cutoff=ALIKE)
    if near is not None:
        found = near[0] if near[0] in names else _elsewhere()[near[0]]
        return found if found in names else None
    inside = [name for name in names if " " in name and set(name.split()) <= set(item.replace(",", " ").split())]
    return max(inside, key=len, default=None)


@cache
def _elsewhere() -> dict[str, str]:
    """A name in another language -> the plain one; a word that means two of them is none."""
    listed = tomllib.loads(WORDS.read_text(encoding="utf-8"))
    found: dict[str, set[str]] = {}
    for name, several in listed.items():
        for word in several:
            found.setdefault(name_key(word), set()).add(name_key(name))
    return {word: next(iter(meant)) for word, meant in found.items() if len(meant) == 1}
