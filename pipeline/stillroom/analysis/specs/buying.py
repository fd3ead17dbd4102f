"""What has to be in the house for some makings: bought ingredients by their specs, in packs of the price list."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date
from typing import TYPE_CHECKING, Any, Final

from stillroom.analysis.specs.book import SpecBook, SpecVersion
from stillroom.analysis.specs.contents import converted
from stillroom.analysis.specs.ingredients import TAP_WATER
from stillroom.names import name_key
from stillroom_schemas.units import ALSO, conversions

if TYPE_CHECKING:
    import polars as pl

ROUNDING: Final = 1e-9
"""Of a pack: more than this beyond a number of packs asks for one more."""


@dataclass(frozen=True, kw_only=True)
class ToBuy:
    """One ingredient."""

    item: str
    amount: float
    unit: str
    """ml, g or each, as bought: before peeling, juicing, straining. Where the price list has a pack of another
    dimension and no density, in the spec's own."""
    wanted_for: tuple[str, ...]
    """Preparations."""
    pack: tuple[float, str] | None = None
    """What a pack holds, as the price list writes it; None where it lists none that can be held against the amount."""
    packs: int | None = None
    """Whole packs that hold the amount."""
    cost: float | None = None
    """Of these, house currency; None where the pack has no price."""


def to_buy(
    book: SpecBook, prices: pl.DataFrame, makings: Iterable[tuple[SpecVersion, float]], day: date
) -> tuple[ToBuy, ...]:
    """What is bought for these makings; what they take of house preparations has makings of its own, or is there.

    Args:
        prices: the view `current_ingredient`; of an item's rows the last priced by the day holds, else its first.
        makings: spec version, how many makings of it.
    """
    packs = _packs(prices, day)
    found: dict[tuple[str, str], ToBuy] = {}
    for spec, number in makings:
        for line in spec.lines:
            key = name_key(line.item)
            if book.is_spec(line.item) or (key in TAP_WATER and key not in packs):
                continue
            ingredient = book.ingredient(line.item)
            amount, unit = _as_bought(
                line.base_amount * number, line.base, packs.get(key), ingredient.density_g_ml if ingredient else None
            )
            before = found.get((key, unit))
            wanted_for = dict.fromkeys((*(before.wanted_for if before else ()), spec.spec))
            found[key, unit] = ToBuy(
                item=before.item if before else line.item,
                amount=amount + (before.amount if before else 0.0),
                unit=unit,
                wanted_for=tuple(wanted_for),
            )
    bought = [_in_packs(one, packs.get(key)) for (key, _), one in found.items()]
    return tuple(sorted(bought, key=lambda one: name_key(one.item)))


def _packs(prices: pl.DataFrame, day: date) -> Mapping[str, dict[str, Any]]:
    """Each item's row of the price list on the day."""
    import polars as pl

    ordered = prices.sort("priced_on", nulls_last=False).with_columns(
        (pl.col("priced_on").is_null() | (pl.col("priced_on") <= day)).alias("holds")
    )
    found: dict[str, dict[str, Any]] = {}
    for row in ordered.iter_rows(named=True):
        if row["holds"] or name_key(row["item"]) not in found:
            found[name_key(row["item"])] = row
    return found


def _as_bought(amount: float, base: str, pack: dict[str, Any] | None, density: float | None) -> tuple[float, str]:
    """An amount that goes in, in the base of the pack and before what is lost on the way; as it is without a way."""
    if pack is None:
        return amount, base
    pack_base = conversions()[pack["pack_unit"]][0]
    there = converted(amount, base, pack_base, density)
    usable = (100.0 if pack["usable_pct"] is None else pack["usable_pct"]) / 100
    if there is None or usable <= 0:
        return amount, base
    return there / usable, pack_base


def _in_packs(one: ToBuy, pack: dict[str, Any] | None) -> ToBuy:
    if pack is None:
        return one
    base, factor = conversions()[pack["pack_unit"]]
    if base != one.unit:
        return one
    packs = math.ceil(one.amount / (pack["pack_amount"] * factor) - ROUNDING)
    cost = None if pack["pack_cost"] is None else packs * float(pack["pack_cost"])
    unit = pack["pack_unit"]
    return replace(one, pack=(pack["pack_amount"], ALSO.get(unit, unit)), packs=packs, cost=cost)
