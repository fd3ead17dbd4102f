"""What one gram of an ingredient holds, how dense it is, and what of that is an assumption.

An empty cell of the price list is not a zero. Where a price list says something of an ingredient, the cells left empty
are taken as 0 and named; where it says nothing, a liquid counts as water and a solid as left out of the liquid, and
both are named as not known.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import TYPE_CHECKING, Any, Final

from stillroom.analysis.specs.acids import as_citric
from stillroom.analysis.specs.contents import Contents
from stillroom.analysis.specs.liquids import ETHANOL_DENSITY, WATER_DENSITY, mixture_volume
from stillroom.names import name_key
from stillroom_schemas.units import conversions

if TYPE_CHECKING:
    import polars as pl

DRY_ABOVE: Final = 0.85
"""Above this share of sugar and acid a thing is a dry solid (sucrose saturates at 0.67, honey holds about 0.82)."""

TAP_WATER: Final = frozenset(
    {"water", "hot water", "cold water", "warm water", "boiling water", "tap water", "filtered water"}
)
"""Items that come from the tap: they cost nothing where the price list does not hold them."""
WATER_NAMES: Final = TAP_WATER | {
    *("still water", "soda water", "sparkling water", "carbonated water", "mineral water"),
}
"""Items that are water by their name, whether the price list says so or not."""

BETWEEN_ALLERGENS: Final = r"[;,](?![^()]*\))"
"""A semicolon or a comma, but not within brackets: 'milk, nuts (almond, hazelnut)' are two."""

STATED: Final = {"abv_pct": "alcohol", "sugar_pct": "sugar", "acid_pct": "acid"}
ENDS: Final = {"sugar_pct": ("sugar_low", "sugar_high"), "acid_pct": ("acid_low", "acid_high")}
"""What is stated -> where its range stands."""
KIND: Final = "acid_kind"
MOST_READ: Final = 4096
"""Ingredients that are kept as they were read: every book holds the same few hundred common ones."""
WATER: Final = Contents(water_g=1.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Ingredient:
    """An ingredient, and what one gram of it holds."""

    item: str
    holds: Contents
    """Its extra volume is that which is stated less that which the mixing rule gives; a mixture carries it along."""
    density_g_ml: float | None = None
    """g/ml as measured out; None where it is not known."""
    known: bool = True
    """False where the price list says nothing of what is in it."""
    liquid: bool = True
    """Bought by volume, or its density is known or can be worked out."""
    taken_as_zero: tuple[str, ...] = ()
    """What the price list leaves empty of an ingredient that it says something of."""
    assumed: tuple[str, ...] = ()
    """What a table of common ingredients says where the price list does not, with its source."""
    allergens: frozenset[str] = frozenset()
    problem: str | None = None
    """Why what is stated cannot be: alcohol and sugar together more than the whole."""


def read_ingredients(ingredients: pl.DataFrame, known: pl.DataFrame | None = None) -> dict[str, Ingredient]:
    """Every ingredient by `name_key`; of several rows of one item, the last cell that is filled holds.

    Where all of them leave a cell empty, and the item goes by the plain name of a common ingredient (or the house says
    by `known_as` that it is one), what the table of these says is assumed, and named as such.

    Args:
        ingredients: columns of the table `ingredient`; one row per item and price.
        known: the table `known_item`; nothing is assumed without it.
    """
    rows: dict[str, dict[str, Any]] = {}
    ends = [end for two in ENDS.values() for end in two]
    wanted = ["item", "pack_unit", "density_g_ml", "allergens", "known_as", KIND, *STATED, *ends]
    for row in ingredients.sort("priced_on", nulls_last=False).select(wanted).to_dicts():
        merged = rows.setdefault(name_key(row["item"]), {})
        merged.update({column: value for column, value in row.items() if value is not None or column not in merged})
    common = {} if known is None else {row["item_key"]: row for row in known.to_dicts()}
    for key, row in common.items():  # of what is not bought the cost is missing, the contents need not be
        rows.setdefault(key, {**dict.fromkeys(wanted), "item": key, "pack_unit": row["unit"]})
    called = {key: name_key(row["known_as"]) if row["known_as"] else key for key, row in rows.items()}
    return {
        key: _read(tuple(row.items()), tuple(common[called[key]].items()) if called[key] in common else ())
        for key, row in rows.items()
    }


@lru_cache(MOST_READ)
def _read(row: tuple[tuple[str, Any], ...], common: tuple[tuple[str, Any], ...]) -> Ingredient:
    return _with_assumed(dict(row), dict(common) or None)


def _with_assumed(row: dict[str, Any], common: dict[str, Any] | None) -> Ingredient:
    """An ingredient, with what is commonly in it where its row is silent.

    Of what does not dissolve (fruit, nuts, herbs) only allergens are assumed: how much of it ends up in the liquid,
    nobody knows.
    """
    row = {**row, **{column: _middle(row, column) for column in ENDS if row[column] is None}}
    if common is None:
        return _ingredient(row)
    silent = all(row[column] is None for column in (*STATED, "density_g_ml"))
    may = [*STATED, *(["density_g_ml"] if silent else [])] if common["dissolves"] else []
    filled = {c: common[c] for c in [*may, "allergens"] if row[c] is None and common[c] is not None}
    if not filled:
        return _ingredient(row)
    for column in ENDS.keys() & filled.keys():
        filled |= {end: common[end] for end in ENDS[column]}
    if "acid_pct" in filled:
        filled |= {KIND: common["acid_kinds"]}
    said = ", ".join(_IN_WORDS[column].format(value) for column, value in filled.items() if column in _IN_WORDS)
    return replace(_ingredient({**row, **filled}), assumed=(f"{row['item']}: {said} ({common['source']})",))


def _middle(row: dict[str, Any], column: str) -> float | None:
    """Of what only a range is stated, its middle."""
    low, high = (row[end] for end in ENDS[column])
    return None if low is None or high is None else (low + high) / 2


_IN_WORDS: Final = {
    "abv_pct": "alcohol {:g} % vol",
    "sugar_pct": "sugar {:g} %",
    "acid_pct": "acid {:g} %",
    "density_g_ml": "{:g} g/ml",
    "allergens": "contains {}",
}


def unlisted_water(name: str) -> Ingredient | None:
    """Water that the price list does not hold, as nobody buys it; None for any other name."""
    if name_key(name) not in WATER_NAMES:
        return None
    return Ingredient(item=name, holds=WATER, density_g_ml=WATER_DENSITY)


def ingredient_densities(ingredients: pl.DataFrame) -> pl.DataFrame:
    """Density of each ingredient: as stated, else worked out from its alcohol, sugar and acid.

    Args:
        ingredients: columns of the table `ingredient`.

    Returns:
        item_key, density_g_ml (g/ml at 20 °C; null where nothing is stated, or for a dry solid without its own).
    """
    import polars as pl

    rows = [(key, found.density_g_ml) for key, found in read_ingredients(ingredients).items()]
    schema = {"item_key": pl.String, "density_g_ml": pl.Float64}
    return pl.DataFrame(rows, schema=schema, orient="row").sort("item_key")


def _ingredient(row: dict[str, Any]) -> Ingredient:
    item = row["item"]
    allergens = frozenset(a.strip() for a in re.split(BETWEEN_ALLERGENS, row["allergens"] or "") if a.strip())
    stated = [column for column in STATED if row[column] is not None]
    if not stated and row["density_g_ml"] is None:
        if name_key(item) in WATER_NAMES:
            return Ingredient(item=item, holds=WATER, density_g_ml=WATER_DENSITY, allergens=allergens)
        by_volume = conversions()[row["pack_unit"]][0] == "ml"
        return Ingredient(item=item, holds=WATER, known=False, liquid=by_volume, allergens=allergens)
    zero = tuple(word for column, word in STATED.items() if column not in stated)
    return _stated(item, row, zero, allergens)


def _stated(item: str, row: dict[str, Any], zero: tuple[str, ...], allergens: frozenset[str]) -> Ingredient:
    sugar = (row["sugar_pct"] or 0.0) / 100
    acids = _acids(row)
    acid = sum(acids.values())
    alcohol_per_ml = (row["abv_pct"] or 0.0) / 100 * ETHANOL_DENSITY
    dry = sugar + acid > DRY_ABOVE
    density = row["density_g_ml"]
    worked_out = None if dry else _density(alcohol_per_ml, sugar + acid)
    alcohol = alcohol_per_ml / (density or worked_out or 1.0)
    water = 1.0 - alcohol - sugar - acid
    if water < -1e-9 or (not dry and density is None and worked_out is None):
        problem = f"{item}: alcohol, sugar and acid as stated come to more than the whole"
        return Ingredient(item=item, holds=WATER, known=False, allergens=allergens, problem=problem)
    water = max(water, 0.0)
    # A dry solid's density is that of its heap, which is gone once it dissolves.
    extra = 0.0 if dry or density is None else 1 / density - mixture_volume(water, alcohol, sugar + acid)
    return Ingredient(
        item=item,
        holds=Contents(
            water_g=water,
            alcohol_g=alcohol,
            sugar_g=sugar,
            extra_ml=extra,
            **_acid_of(row, acids),
            **_spread(row, "sugar_pct", "sugar", 1.0),
        ),
        density_g_ml=density or worked_out,
        liquid=not dry,
        taken_as_zero=zero,
        allergens=allergens,
    )


def _acids(row: dict[str, Any]) -> dict[str, float]:
    """Kind -> how much of that acid a gram holds, g; '' for acid that nobody tells the kind of.

    A kind alone ('malic') is that of the stated acid. Several with amounts ('citric 1.28; malic 0.12') are g in 100 g.
    """
    kind = row[KIND] or ""
    if _says_amounts(kind):
        return {name: float(amount) / 100 for name, amount in map(str.split, kind.split(";"))}
    return {kind: (row["acid_pct"] or 0.0) / 100}


def _says_amounts(kind: str) -> bool:
    return any(letter.isdigit() for letter in kind)


def _acid_of(row: dict[str, Any], acids: dict[str, float]) -> dict[str, float]:
    """The acid of a gram as citric, each kind that is known, and the range of all."""
    sour = {kind: as_citric(kind) if kind else 1.0 for kind in acids}
    whole = sum(mass * sour[kind] for kind, mass in acids.items())
    factor = 1.0 if _says_amounts(row[KIND] or "") else next(iter(sour.values()))
    known = {f"{kind}_g": mass for kind, mass in acids.items() if kind}
    return {"acid_g": whole, **known, **_spread(row, "acid_pct", "acid", factor)}


def _spread(row: dict[str, Any], column: str, name: str, factor: float) -> dict[str, float]:
    """How far the ends of a range lie from what is stated, in a gram."""
    value, low, high = (row[one] for one in (column, *ENDS[column]))
    if value is None:
        return {}
    return {
        f"{name}_less_g": factor * max(value - low, 0.0) / 100 if low is not None else 0.0,
        f"{name}_more_g": factor * max(high - value, 0.0) / 100 if high is not None else 0.0,
    }


def _density(alcohol_per_ml: float, solids: float) -> float | None:
    """Density at which 1 ml holds that much alcohol and that share of solids; None where there is none.

    Args:
        alcohol_per_ml: ethanol, g in 1 ml.
        solids: sugar and acid, g in 1 g.
    """
    density = 1.0
    for _ in range(60):
        water = density * (1 - solids) - alcohol_per_ml
        if water < -1e-9:
            return None
        volume = mixture_volume(max(water, 0.0), alcohol_per_ml, density * solids)
        if abs(volume - 1) < 1e-13:
            return density
        density /= volume
    return density
