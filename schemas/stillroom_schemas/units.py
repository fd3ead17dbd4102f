"""The units a spec may be written in, and what one of each is in ml, g or pieces."""

from __future__ import annotations

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

BASES: Final[dict[str, str]] = {"[volume]": "ml", "[mass]": "g", "[count]": "each"}
DEFINITIONS: Final = Path(__file__).with_name("units.txt")


@cache
def conversions() -> dict[str, tuple[str, float]]:
    """Spelling -> (base unit, how many of it one is).

    >>> conversions()["cl"]
    ('ml', 10.0)
    >>> conversions()["kg"]
    ('g', 1000.0)
    """
    import pint

    registry: pint.UnitRegistry[float] = pint.UnitRegistry(str(DEFINITIONS), cache_folder=None)
    table = {}
    for spelling, name in SPELLINGS.items():
        base = registry.Quantity(1, name).to_base_units()
        table[spelling] = (BASES[str(base.dimensionality)], float(base.magnitude))
    return table
