"""What is in one making of a spec, all nesting unfolded: water, alcohol, sugar, acid, volume, allergens.

Everything is added up as masses, which a mixing cannot change; volume follows from the masses (`liquids`), contraction
included. What could not be counted is named, never guessed.

A part made in house is a share of its own making: the amount used over what comes out. Where the spec says that less
comes out than went in, the loss is taken as mixture left behind (in the filter, in the pulp), so that the strength
stays; where it says that more comes out, what went in is spread over all of it, and the rest counts as water.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date
from typing import TYPE_CHECKING, Final

from stillroom.analysis.specs.book import Line, SpecBook, SpecVersion
from stillroom.analysis.specs.contents import PARTS, Contents, converted
from stillroom.analysis.specs.ingredients import Ingredient
from stillroom.analysis.specs.liquids import WATER_DENSITY

if TYPE_CHECKING:
    import polars as pl


NEGLIGIBLE: Final = 1e-9
"""Share of an amount that is rounding, not matter."""


@dataclass(frozen=True, kw_only=True)
class Making:
    """One making of a spec version."""

    contents: Contents
    not_counted: tuple[str, ...] = ()
    """Parts whose amount has no mass or volume, or that nobody lists: the figures are without them."""
    not_known: tuple[str, ...] = ()
    """Liquids of which nothing is stated: counted as water."""
    left_out: tuple[str, ...] = ()
    """Garnishes, and solids of which nothing is stated: taken not to end up in the liquid."""
    topped_up: tuple[str, ...] = ()
    """Parts of which more comes out than is known to go in."""
    taken_as_zero: tuple[str, ...] = ()
    """'alcohol of lemon juice': cells of the price list that are empty."""
    assumed: tuple[str, ...] = ()
    """'sugar and acid of lemon juice (USDA SR28 ...)': not of the price list, but of a table of common ingredients."""

    @property
    def whole(self) -> bool:
        """Whether every part of the liquid is counted with what is stated of it."""
        return not self.not_counted and not self.not_known


class Composition:
    """Makings of all versions in a book, each worked out once for each day that is asked about."""

    def __init__(self, book: SpecBook) -> None:
        self.book = book
        self._makings: dict[date, dict[tuple[str, int], Making]] = {}

    def making(self, spec: SpecVersion, day: date | None = None) -> Making:
        """One making of a spec version, before any chilling.

        Args:
            day: whose versions go in; `SpecBook.day_of` when None.
        """
        day = day or self.book.day_of(spec)
        makings = self._makings.setdefault(day, {})
        if spec.key not in makings:
            for inner in self.book.inside_out(spec, day, but_not=makings):
                parts = [self.part(line, day) for line in inner.lines] or [_uncounted(f"{inner.label}: has no lines")]
                makings[inner.key] = _joined(parts + [_uncounted(words) for words in self.book.lines_aside(inner)])
        return makings[spec.key]

    def allergens(self, spec: SpecVersion) -> tuple[str, ...]:
        """What is stated of all that may be in a version: of each spec in it, every version there may be some of."""
        book = self.book
        inside = book.inside_out(spec, book.day_of(spec), stocked=True)
        bought = {line.item for part in inside for line in part.lines if not book.is_spec(line.item)}
        known = [ingredient for item in bought if (ingredient := book.ingredient(item))]
        return tuple(sorted(frozenset().union(*(ingredient.allergens for ingredient in known))))

    def part(self, line: Line, day: date) -> Making:
        """What one line brings into one making on a day; what goes into it is worked out before."""
        if self.book.is_spec(line.item):
            return self._made(line, self.book.version_on(line.item, day), day)
        ingredient = self.book.ingredient(line.item)
        if ingredient is None:
            return _uncounted(f"{line.item}: not in the price list, so nothing is known of it")
        return _bought(line, ingredient)

    def _made(self, line: Line, spec: SpecVersion, day: date) -> Making:
        making = self._makings[day].get(spec.key)
        if making is None:
            return _uncounted(f"{line.item}: goes in a circle, it is made of what is made of it")
        share = comes_out_share(line, spec, making.contents)
        if share is None:
            why = f"{line.amount:g} {line.unit} of it cannot be measured off a making given in {spec.yield_base}"
            return _uncounted(f"{line.item}: {why}")
        contents = making.contents.times(share)
        if spec.kind == "garnish":  # it sits on the glass: its syrup does not sweeten the drink
            solid = Contents(left_out_g=contents.mass_g + contents.left_out_g)
            return Making(contents=solid, left_out=(line.item,))
        rest = line.base_amount - {"ml": contents.volume_ml, "g": contents.mass_g}.get(line.base, line.base_amount)
        if rest <= NEGLIGIBLE * line.base_amount:
            return replace(making, contents=contents)
        note = f"{spec.label}: more comes out than went in, and the rest counts as water"
        topped_up = _once((making.topped_up, (note,)))
        return replace(making, contents=_topped_up(contents, rest, line), topped_up=topped_up)


def _topped_up(contents: Contents, rest: float, line: Line) -> Contents:
    """With water added so that the whole is what the line measures out."""
    water = rest * (WATER_DENSITY if line.base == "ml" else 1.0)
    with_water = replace(contents, water_g=contents.water_g + water)
    if line.base == "g":
        return with_water
    return replace(with_water, extra_ml=with_water.extra_ml + line.base_amount - with_water.volume_ml)


def comes_out_share(line: Line, spec: SpecVersion, contents: Contents) -> float | None:
    """Share of what went into one making of `spec` that a line takes; None where it cannot be converted."""
    density = contents.density_g_ml
    stated = converted(spec.yield_amount, spec.yield_base, line.base, density)
    if stated is None:
        return None
    worked_out = {"ml": contents.volume_ml, "g": contents.mass_g}.get(line.base, 0.0)
    return line.base_amount / max(stated, worked_out)


def _uncounted(why: str) -> Making:
    return Making(contents=Contents(), not_counted=(why,))


def _bought(line: Line, ingredient: Ingredient) -> Making:
    """What an ingredient brings, measured out by mass or volume."""
    if ingredient.problem:
        return _uncounted(ingredient.problem)
    if line.base == "each":
        return _uncounted(f"{line.item}: {line.amount:g} {line.unit} has no mass")
    if not ingredient.known:
        if line.base == "g" and not ingredient.liquid:
            contents = Contents(left_out_g=line.base_amount)
            return Making(contents=contents, left_out=(line.item,))
        mass = line.base_amount
        contents = Contents(water_g=mass * (WATER_DENSITY if line.base == "ml" else 1.0))
        return Making(contents=contents, not_known=(line.item,))
    grams = converted(line.base_amount, line.base, "g", ingredient.density_g_ml)
    if grams is None:
        why = f"{line.item}: no density is stated, so {line.amount:g} {line.unit} has no mass"
        return _uncounted(why)
    return Making(
        contents=ingredient.holds.times(grams),
        taken_as_zero=tuple(f"{what} of {line.item}" for what in ingredient.taken_as_zero),
        assumed=ingredient.assumed,
    )


def _joined(parts: list[Making]) -> Making:
    """Everything that several parts hold, mixed."""
    sums = [sum(getattr(p.contents, name) for p in parts) for name in PARTS]
    return Making(
        contents=Contents(*sums),
        not_counted=_once(p.not_counted for p in parts),
        not_known=_once(p.not_known for p in parts),
        left_out=_once(p.left_out for p in parts),
        topped_up=_once(p.topped_up for p in parts),
        taken_as_zero=_once(p.taken_as_zero for p in parts),
        assumed=_once(p.assumed for p in parts),
    )


def _once(texts: Iterable[tuple[str, ...]]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(text for several in texts for text in several))


def densities(frames: Mapping[str, pl.DataFrame]) -> pl.DataFrame:
    """Density of each spec version, for turning grams of it into millilitres and back.

    Args:
        frames: the views that a `SpecBook` is made from.

    Returns:
        name_key, version, density_g_ml (g/ml at 20 °C, before chilling; null where a part of the liquid is not known).
    """
    import polars as pl

    composition = Composition(SpecBook(frames))
    makings = [(s, composition.making(s)) for s in composition.book.specs.values()]
    rows = [(*s.key, m.contents.density_g_ml if m.whole else None) for s, m in makings]
    schema = {"name_key": pl.String, "version": pl.Int64, "density_g_ml": pl.Float64}
    return pl.DataFrame(rows, schema=schema, orient="row").sort("name_key", "version")
