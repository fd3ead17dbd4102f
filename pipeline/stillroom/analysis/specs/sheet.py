"""A spec as it is put beside the scale: amounts for so many serves or so much of it, composition, cost."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Final

import polars as pl

from stillroom.analysis.specs.book import Line, SpecVersion
from stillroom.analysis.specs.composition import Composition, Making
from stillroom.analysis.specs.contents import Contents, converted
from stillroom.analysis.specs.costing import Cost, PartCosts
from stillroom.analysis.specs.figures import Figures, Yield, figures, glass, yield_of
from stillroom.analysis.specs.liquids import WATER_DENSITY
from stillroom.analysis.specs.scaling import weighable
from stillroom_schemas.units import conversions

UNFIXED: Final = frozenset({"bar oz", "barspoon", "dash"})
"""Measures that no standard fixes."""
SATURATED: Final = 0.6709
"""Sucrose that water holds dissolved at 20 °C, g in 1 g of both (CRC Handbook; 0.6418 at 0 °C, 0.7042 at 40 °C)."""


@dataclass(frozen=True, kw_only=True)
class SheetLine:
    """One line, scaled."""

    item: str
    version: int | None
    """Of a spec that goes in; None of what is bought."""
    amount: float
    unit: str
    """As written in the spec, times the factor; rounded where the factor is not 1."""
    weigh_g: float | None
    """The same on a scale, rounded; None where it has no mass."""
    measure_ml: float | None
    """The same in a measure, rounded; None where it has no volume."""
    cost: Cost


@dataclass(frozen=True, kw_only=True)
class SpecSheet:
    """One spec version, scaled."""

    spec: SpecVersion
    factor: float
    """How many makings."""
    makes: float
    makes_unit: str
    """What comes out of them, in ml, g, each or serve."""
    lines: tuple[SheetLine, ...]
    before: Figures
    """A serve of a drink before chilling; a making of anything else, not scaled."""
    served: Figures
    """A serve of a drink after chilling; the same as before for anything else."""
    allergens: tuple[str, ...]
    cost: Cost
    """Of a serve of a drink; of one making of anything else, not scaled."""
    cost_scaled: Cost
    priced_on: date | None
    """The day whose prices hold; None = the latest prices there are."""
    net_per_serve: float | None
    """What a serve took in, net of tax and discounts; None where none was sold."""
    comes_out: Yield
    serves: pl.DataFrame
    """drink, drink_version, amount, unit, serves: how many serves of each drink one making gives."""
    used_in: tuple[tuple[str, str], ...]
    """What holds it at any depth, in the versions in service, and the part that brings it in ('' where none does)."""
    assumptions: tuple[str, ...]
    """What the figures rest on beyond what is stated."""

    @property
    def chilling_ml(self) -> float:
        """Water that chilling adds to all of it, ml; 0 where it adds none."""
        return max(0.0, self.served.water_g - self.before.water_g) / WATER_DENSITY * self.factor * self.spec.serves

    @property
    def taken(self) -> float | None:
        """What a serve takes in: net where some were sold, else the menu price with any tax in it; None of neither."""
        return self.net_per_serve or self.spec.price

    @property
    def cost_share(self) -> float | None:
        """The cost as a share of it, 0 to 1; None without either of them whole."""
        return self.cost.whole / self.taken if self.cost.whole is not None and self.taken else None

    @property
    def left(self) -> float | None:
        """What is left of it after the cost; None without either of them whole."""
        return None if self.taken is None or self.cost.whole is None else self.taken - self.cost.whole


def spec_sheet(
    composition: Composition,
    costs: PartCosts,
    spec: SpecVersion,
    *,
    priced_on: date | None = None,
    factor: float = 1.0,
    standard_drink_g: float | None = None,
    net_per_serve: float | None = None,
) -> SpecSheet:
    """The sheet of one spec version.

    Args:
        costs: as `costing.costs_on` gives them, of all specs.
        priced_on: the day whose prices those are.
        factor: how many makings.
        standard_drink_g: pure alcohol in a standard drink, g.
        net_per_serve: what a serve of it took in, by the till; None where none was sold.
    """
    making = composition.making(spec)
    poured = glass(spec, making)
    cost = costs.of(spec)
    return SpecSheet(
        spec=spec,
        factor=factor,
        makes=spec.yield_amount * factor,
        makes_unit="serve" if spec.kind == "drink" and spec.yield_base == "each" else spec.yield_base,
        lines=tuple(_line(composition, costs, spec, line, factor) for line in spec.lines),
        before=figures(poured.before, standard_drink_g),
        served=figures(poured.served, standard_drink_g),
        allergens=composition.allergens(spec),
        cost=cost,
        cost_scaled=cost.times(factor * spec.serves),
        priced_on=priced_on,
        net_per_serve=net_per_serve,
        comes_out=yield_of(spec, making),
        serves=serves_given(composition, spec).drop("preparation", "version"),
        used_in=tuple((one.spec, through) for one, through in composition.book.used_in(spec.spec)),
        assumptions=(
            *assumptions(making, poured.water.said if poured.water else _no_dilution(spec)),
            *_measures(spec),
            *_undissolved(spec, making.contents),
        ),
    )


def _no_dilution(spec: SpecVersion) -> str:
    if spec.kind != "drink":
        return ""
    return "nothing says how it is chilled: figures are before any melting ice"


def _measures(spec: SpecVersion) -> list[str]:
    """The measures in a spec that no standard fixes, or that mean weight to some and volume to others."""
    used = sorted({line.unit for line in spec.lines})
    said = [f"1 {u} is taken as {conversions()[u][1]:g} ml (common practice, no source)" for u in used if u in UNFIXED]
    return [*said, "1 oz is taken as 28.35 g, by weight; the measure is 'fl oz'"] if "oz" in used else said


def _undissolved(spec: SpecVersion, contents: Contents) -> list[str]:
    """Whether a liquid holds more sugar than dissolves in its water."""
    share = contents.sugar_g / ((contents.sugar_g + contents.water_g) or 1.0)
    if spec.kind == "garnish" or share <= SATURATED:
        return []
    return [
        f"{100 * share:.1f} g of sugar to 100 g of sugar and water: sucrose dissolves to {100 * SATURATED:.1f} at 20 °C"
        ", so some may settle out, and the figures are as if none did"
    ]


def assumptions(making: Making, about_water: str) -> tuple[str, ...]:
    """Sentences for what was assumed or left out, without full stops; empty where nothing was."""
    said = [f"not counted: {what}" for what in making.not_counted]
    if making.not_known:
        said.append(f"counted as water, as the price list says nothing of it: {', '.join(making.not_known)}")
    if making.left_out:
        said.append(f"taken not to end up in the liquid: {', '.join(making.left_out)}")
    said += making.topped_up
    said += [f"assumed, as the price list does not say: {what}" for what in making.assumed]
    if making.taken_as_zero:
        said.append(f"taken as 0, as the price list leaves it empty: {', '.join(making.taken_as_zero)}")
    if about_water:
        said.append(about_water)
    return tuple(said)


def _line(composition: Composition, costs: PartCosts, spec: SpecVersion, line: Line, factor: float) -> SheetLine:
    base_amount = line.base_amount * factor
    day = composition.book.day_of(spec)
    inner = composition.book.version_on(line.item, day) if composition.book.is_spec(line.item) else None
    density = _density(composition, line, inner, day)
    grams = converted(base_amount, line.base, "g", density)
    millilitres = converted(base_amount, line.base, "ml", density)
    amount = line.amount * factor
    return SheetLine(
        item=line.item,
        version=inner.version if inner else None,
        amount=amount if factor == 1 or line.base == "each" else weighable(amount),
        unit=line.unit,
        weigh_g=None if grams is None else weighable(grams),
        measure_ml=None if millilitres is None else weighable(millilitres),
        cost=_line_cost(composition, costs, spec, line, inner).times(factor),
    )


def _density(composition: Composition, line: Line, inner: SpecVersion | None, day: date) -> float | None:
    if inner is not None:
        making = composition.making(inner, day)
        return making.contents.density_g_ml if making.whole else None
    ingredient = composition.book.ingredient(line.item)
    return ingredient.density_g_ml if ingredient else None


def _line_cost(
    composition: Composition, costs: PartCosts, spec: SpecVersion, line: Line, inner: SpecVersion | None
) -> Cost:
    """The cost of one line of one making."""
    if inner is not None:
        making = costs.of(inner)
        density = _density(composition, line, inner, composition.book.day_of(spec))
        gives = converted(inner.yield_amount, inner.yield_base, line.base, density)
        if inner.kind == "drink" and inner.yield_base == "each":
            gives = 1.0  # costs of a drink are of one serve
        return making.times(line.base_amount / gives) if gives else Cost(known=0.0, missing=(line.item,))
    return costs.of_line(spec, line)


def serves_given(composition: Composition, only: SpecVersion | None = None) -> pl.DataFrame:
    """How many serves of each drink one making of each preparation in it gives; a drink as it was last in service.

    Args:
        only: a version to look at alone.

    Returns:
        preparation, version, drink, drink_version, amount, unit (what a serve takes), serves.
    """
    book = composition.book
    rows = []
    for versions in book.versions.values():
        drink = book.in_service(versions[0].spec)
        for line in drink.lines if drink.kind == "drink" else ():
            if not book.is_spec(line.item):
                continue
            day = book.day_of(drink)
            part = book.version_on(line.item, day)
            if only and part.key != only.key:
                continue
            density = composition.making(part, day).contents.density_g_ml
            gives = converted(part.yield_amount, part.yield_base, line.base, density)
            takes = line.base_amount / drink.serves
            if gives is not None:
                rows.append((part.spec, part.version, drink.spec, drink.version, takes, line.base, gives / takes))
    schema = {
        "preparation": pl.String,
        "version": pl.Int64,
        "drink": pl.String,
        "drink_version": pl.Int64,
        "amount": pl.Float64,
        "unit": pl.String,
        "serves": pl.Float64,
    }
    return pl.DataFrame(rows, schema=schema, orient="row").sort("preparation", "version", "drink")
