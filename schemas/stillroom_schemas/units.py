"""The units a spec may be written in, and what one of each is in ml, g or pieces."""

from __future__ import annotations

import tomllib
from functools import cache
from pathlib import Path
from typing import Final

US_FLUID_OUNCE: Final = 29.5735295625
"""ml: NIST Handbook 44, appendix C; the other US measures are parts and multiples of it."""
IMPERIAL_FLUID_OUNCE: Final = 28.4130625
"""ml: Units of Measurement Regulations 1995 (gallon 4.54609 l / 160)."""
OUNCE: Final = 28.349523125
"""g: the avoirdupois ounce, of which 16 are a pound."""

SPELLINGS: Final[dict[str, tuple[str, float]]] = {
    "ml": ("ml", 1.0),
    "cl": ("ml", 10.0),
    "dl": ("ml", 100.0),
    "l": ("ml", 1000.0),
    "fl oz": ("ml", US_FLUID_OUNCE),
    "us fl oz": ("ml", US_FLUID_OUNCE),
    "imp fl oz": ("ml", IMPERIAL_FLUID_OUNCE),
    "bar oz": ("ml", 30.0),  # common practice, no source: a house that has measured its own writes ml in its specs
    "tsp": ("ml", US_FLUID_OUNCE / 6),
    "tbsp": ("ml", US_FLUID_OUNCE / 2),
    "cup": ("ml", 8 * US_FLUID_OUNCE),
    "pint": ("ml", 16 * US_FLUID_OUNCE),
    "quart": ("ml", 32 * US_FLUID_OUNCE),
    "gallon": ("ml", 128 * US_FLUID_OUNCE),
    "imp pint": ("ml", 20 * IMPERIAL_FLUID_OUNCE),
    "imp quart": ("ml", 40 * IMPERIAL_FLUID_OUNCE),
    "imp gallon": ("ml", 160 * IMPERIAL_FLUID_OUNCE),
    "barspoon": ("ml", 5.0),  # common practice, no source
    "dash": ("ml", 0.8),  # common practice, no source
    "drop": ("ml", 0.05),  # metric drop: 20 to the ml of water (Ph. Eur. dropper standard, from memory)
    "mg": ("g", 0.001),
    "g": ("g", 1.0),
    "kg": ("g", 1000.0),
    "oz": ("g", OUNCE),
    "lb": ("g", 16 * OUNCE),
    "each": ("each", 1.0),
    "serve": ("each", 1.0),
}
"""Spelling in a spec -> base unit, and how many of it one is.

Volume and mass are joined through a density alone; a drink yields serves, counted like pieces.
"""

ALSO: Final[dict[str, str]] = {
    "litre": "l", "litres": "l", "liter": "l", "liters": "l", "gram": "g", "grams": "g", "lbs": "lb",
    "floz": "fl oz", "fl. oz": "fl oz", "fl. oz.": "fl oz", "fluid ounce": "fl oz", "fluid ounces": "fl oz",
    "us fl. oz": "us fl oz", "us fl. oz.": "us fl oz", "us fluid ounce": "us fl oz", "us fluid ounces": "us fl oz",
    "imperial fl oz": "imp fl oz", "imp fl. oz": "imp fl oz", "imp fl. oz.": "imp fl oz", "uk fl oz": "imp fl oz",
    "imperial fluid ounce": "imp fl oz", "imperial fluid ounces": "imp fl oz",
    "teaspoon": "tsp", "teaspoons": "tsp", "us tsp": "tsp", "tablespoon": "tbsp", "tablespoons": "tbsp",
    "us tbsp": "tbsp", "cups": "cup", "us cup": "cup", "us cups": "cup",
    "pints": "pint", "us pint": "pint", "us pints": "pint", "quarts": "quart", "us quart": "quart",
    "us quarts": "quart", "qt": "quart", "qts": "quart", "gal": "gallon", "gals": "gallon",
    "gallons": "gallon", "us gallon": "gallon", "us gallons": "gallon", "us gal": "gallon",
    "imp gallons": "imp gallon", "imperial gallon": "imp gallon", "imperial gallons": "imp gallon",
    "imp gal": "imp gallon", "imp qt": "imp quart", "imp quarts": "imp quart", "imperial quart": "imp quart",
    "imperial quarts": "imp quart",
    "imp pints": "imp pint", "imperial pint": "imp pint", "imperial pints": "imp pint", "uk pint": "imp pint",
    "uk pints": "imp pint", "bar spoon": "barspoon", "barspoons": "barspoon", "bar spoons": "barspoon",
    "dashes": "dash", "drops": "drop", "piece": "each", "pieces": "each", "pcs": "each", "serves": "serve",
}  # fmt: skip
"""Other spellings that bars write -> the one of `SPELLINGS` that each stands for."""
KNOWN: Final = (*SPELLINGS, *ALSO)
"""All that may stand in a cell."""
MAKING: Final = "batch"
"""Of an amount that is so many makings of a spec, or that share of a batch, until it is known how much that is."""
WORDS: Final = Path(__file__).with_name("unit_words.toml")


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
    return SPELLINGS | {other: SPELLINGS[spelling] for other, spelling in ALSO.items()}
