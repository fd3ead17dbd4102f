"""What to be careful of in a spec, what is looked at for it, and what is commonly in ingredients."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from pathlib import Path


@dataclass(frozen=True, kw_only=True)
class SpecFacts:
    """What a caution may look at: a spec version with all that is in it, and what its batches show."""

    spec: str
    version: int
    kind: str
    """drink, preparation or garnish."""
    storage: str | None = None
    """ambient, fridge or freezer."""
    keeps_days: float | None = None
    text: str = ""
    """Its name, method and note."""
    parts_text: str = ""
    """Names, methods and notes of the specs in it."""
    items: tuple[str, ...] = ()
    """Every ingredient and spec in it, at any depth."""
    allergens: tuple[str, ...] = ()
    """Carried up from every part, as the price list states them."""
    abv_pct: float | None = None
    """% vol before chilling; of what is known where `whole` is false."""
    whole: bool = True
    """Whether everything in it could be counted."""
    mass_shares: Mapping[str, float] = field(default_factory=dict)
    """Ingredient -> share of the whole mass, 0 to 1, where it has a mass."""
    ph_measured: tuple[float, ...] = ()
    """pH of its batches, as far as measured."""
    batches: int = 0
    """Batches of this version in the book."""
    spoiled_after_days: tuple[int, ...] = ()
    """Days after which batches were logged as spoiled before their use-by."""
    part_keeps: Mapping[str, float] = field(default_factory=dict)
    """Spec in it -> the days that it keeps."""


@dataclass(frozen=True, kw_only=True)
class Caution:
    """One thing to be careful of: when it applies to a spec, and what to say then."""

    name: str
    """Letters, digits and hyphens."""
    title: str
    """Two or three words for people."""
    source: str
    """The rule, standard or practice it rests on, and whether that was read or is from memory."""
    check: Callable[[SpecFacts], str | None]
    """What to say of this spec; None where the caution does not apply. The host adds whom to ask."""


@dataclass(frozen=True, kw_only=True)
class CommonIngredients:
    """What is commonly in ingredients, by their plain names: a table that adds to the built-in one.

    Where the price list is silent, it is assumed, with its source; never over a house's own value.
    """

    name: str
    file: Path
    """CSV in UTF-8 with the headings of `stillroom.model.COMMON`; every row names the source of its figures."""
