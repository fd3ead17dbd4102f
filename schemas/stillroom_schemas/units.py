"""The units a spec may be written in, and what one of each is in ml, g or pieces."""

from __future__ import annotations

import tomllib
from functools import cache
from pathlib import Path
from typing import Final

SPELLINGS: Final[dict[str, str]] = {
    "ml": "millilitre",
    "cl": "centilitre",
    "dl": "decilitre",
    "l": "litre",
    "fl oz": "us_fluid_ounce",
    "us fl oz": "us_fluid_ounce",
    "imp fl oz": "imperial_fluid_ounce",
    "bar oz": "bar_ounce",
    "tsp": "us_teaspoon",
    "tbsp": "us_tablespoon",
    "cup": "us_cup",
    "pint": "us_pint",
    "quart": "us_quart",
    "imp pint": "imperial_pint",
    "barspoon": "barspoon",
    "dash": "dash",
    "drop": "drop",
    "mg": "milligram",
    "g": "gram",
    "kg": "kilogram",
    "oz": "ounce",
    "lb": "pound",
    "each": "each",
    "serve": "each",
}
"""Spelling in a spec -> name in units.txt. A drink yields serves, counted like pieces."""

ALSO: Final[dict[str, str]] = {
    "litre": "l", "litres": "l", "liter": "l", "liters": "l", "gram": "g", "grams": "g", "lbs": "lb",
    "floz": "fl oz", "fl. oz": "fl oz", "fl. oz.": "fl oz", "fluid ounce": "fl oz", "fluid ounces": "fl oz",
    "us fl. oz": "us fl oz", "us fl. oz.": "us fl oz", "us fluid ounce": "us fl oz", "us fluid ounces": "us fl oz",
    "imperial fl oz": "imp fl oz", "imp fl. oz": "imp fl oz", "imp fl. oz.": "imp fl oz", "uk fl oz": "imp fl oz",
    "imperial fluid ounce": "imp fl oz", "imperial fluid ounces": "imp fl oz",
    "teaspoon": "tsp", "teaspoons": "tsp", "us tsp": "tsp", "tablespoon": "tbsp", "tablespoons": "tbsp",
    "us tbsp": "tbsp", "cups": "cup", "us cup": "cup", "us cups": "cup",
    "pints": "pint", "us pint": "pint", "us pints": "pint", "quarts": "quart", "us quart": "quart",
    "us quarts": "quart",
    "imp pints": "imp pint", "imperial pint": "imp pint", "imperial pints": "imp pint", "uk pint": "imp pint",
    "uk pints": "imp pint", "bar spoon": "barspoon", "barspoons": "barspoon", "bar spoons": "barspoon",
    "dashes": "dash", "drops": "drop", "piece": "each", "pieces": "each", "pcs": "each", "serves": "serve",
}  # fmt: skip
"""Other spellings that bars write -> the one of `SPELLINGS` that each stands for."""
KNOWN: Final = (*SPELLINGS, *ALSO)
"""All that may stand in a cell."""
WORDS: Final = Path(__file__).with_name("unit_words.toml")

BASES: Final[dict[str, str]] = {"[volume]": "ml", "[mass]": "g", "[count]": "each"}
DEFINITIONS: Final = Path(__file__).with_name("units.txt")


@cache
def words() -> dict[str, str]:
    """What people write for a unit, in a dozen languages and small letters -> the unit of `KNOWN`.

    >>> [words()[one] for one in ("ml", "litres", "stück", "c. à s")]
    ['ml', 'litres', 'each', 'tbsp']
    """
    listed = tomllib.loads(WORDS.read_text(encoding="utf-8"))
    found = {word: unit for unit, several in listed.items() for word in several}
    return found | {unit: unit for unit in KNOWN}


@cache
def conversions() -> dict[str, tuple[str, float]]:
    """Spelling -> (base unit, how many of it one is).

    >>> conversions()["cl"]
    ('ml', 10.0)
    >>> conversions()["kg"]
    ('g', 1000.0)
    >>> conversions()["imperial pint"] == conversions()["imp pint"]
    True
    """
    import pint

    registry: pint.UnitRegistry[float] = pint.UnitRegistry(str(DEFINITIONS), cache_folder=None)
    table = {}
    for spelling, name in SPELLINGS.items():
        base = registry.Quantity(1, name).to_base_units()
        table[spelling] = (BASES[str(base.dimensionality)], float(base.magnitude))
    return table | {other: table[spelling] for other, spelling in ALSO.items()}
