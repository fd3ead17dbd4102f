"""What the parts of a spec cost at the prices of a day. A missing price is named; the sum is then a floor.

An amount in a spec is of what is used: of peeled, juiced, strained stuff. A pack costs its price over its usable share.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Final

import polars as pl

from stillroom.analysis.specs.ingredients import ingredient_densities
from stillroom_schemas.units import conversions

ALWAYS: Final = date(1900, 1, 1)
"""From when a price without a date holds."""


@dataclass(frozen=True, kw_only=True)
class Cost:
    """The cost of something, as far as prices are known."""

    known: float
    """Sum of what has a price, house currency."""
    missing: tuple[str, ...] = ()
    """Items without a price, or without a way to convert to it."""

    @property
    def whole(self) -> float | None:
        """The cost; None where a price is missing."""
        return None if self.missing else self.known

    def times(self, factor: float) -> Cost:
        """The cost of more or less of it."""
        return Cost(known=self.known * factor, missing=self.missing)


def prices_on(ingredients: pl.DataFrame, day: date) -> pl.DataFrame:
    """The price of every ingredient in force on a day: the last that began on it or before.

    Args:
        ingredients: columns of the table `ingredient`.

    Returns:
        key (name without case), base (ml, g, each), unit_cost (of one base unit of the usable part; null without a
        price, or where nothing of the pack is usable), priced_on, density_g_ml.
    """
    units = conversions()
    densities = ingredient_densities(ingredients).with_columns(key=pl.col("item").str.to_lowercase()).drop("item")
    in_force = (
        ingredients.with_columns(key=pl.col("item").str.to_lowercase(), from_day=pl.col("priced_on").fill_null(ALWAYS))
        .filter(pl.col("from_day") <= day)
        .sort("from_day")
        .unique("key", keep="last", maintain_order=True)
    )
    base = pl.col("pack_unit").replace_strict({u: b for u, (b, _) in units.items()}, return_dtype=pl.String)
    factor = pl.col("pack_unit").replace_strict({u: f for u, (_, f) in units.items()}, return_dtype=pl.Float64)
    usable = pl.col("pack_amount") * factor * pl.col("usable_pct") / 100
    return (
        in_force.with_columns(
            base=base,
            unit_cost=pl.when(usable > 0).then(pl.col("pack_cost").cast(pl.Float64) / usable),
        )
        .drop("density_g_ml")
        .join(densities, on="key", how="left")
        .select("key", "base", "unit_cost", "priced_on", "density_g_ml")
    )


def part_costs(parts: pl.DataFrame, ingredients: pl.DataFrame, day: date) -> pl.DataFrame:
    """What each bought ingredient adds to the cost of each spec version, all nesting unfolded.

    A spec that goes in and has no lines of its own counts as bought, so that it is missed and not taken for free.

    Args:
        parts: the view `spec_parts`: spec, version, item, item_kind, item_version, amount, unit (ml, g, each).
        ingredients: columns of the table `ingredient`.
        day: whose prices hold.

    Returns:
        spec, version, item, amount, unit, cost (house currency, of a serve of a drink or a making of the rest; null
        where there is no price, or no density to turn the amount into what is priced).
    """
    density = pl.col("density_g_ml")
    in_pack_unit = (
        pl.when(pl.col("unit") == pl.col("base"))
        .then(pl.col("amount"))
        .when((pl.col("unit") == "ml") & (pl.col("base") == "g"))
        .then(pl.col("amount") * density)
        .when((pl.col("unit") == "g") & (pl.col("base") == "ml"))
        .then(pl.col("amount") / density)
    )
    return (
        _bought(parts)
        .join(prices_on(ingredients, day), on="key", how="left")
        .with_columns(cost=in_pack_unit * pl.col("unit_cost"))
        .group_by("spec", "version", "item", "unit", maintain_order=True)
        .agg(
            pl.when(pl.col("amount").null_count() == 0).then(pl.col("amount").sum()).alias("amount"),
            # One part without a cost leaves the whole item without: a sum of some would look like all.
            pl.when(pl.col("cost").null_count() == 0).then(pl.col("cost").sum()).alias("cost"),
        )
        .select("spec", "version", "item", "amount", "unit", "cost")
    )


def _bought(parts: pl.DataFrame) -> pl.DataFrame:
    """The parts that nothing says how to make, with their key."""
    with_key = parts.with_columns(key=pl.col("item").str.to_lowercase())
    made = parts.select(key=pl.col("spec").str.to_lowercase(), item_version="version").unique()
    return with_key.join(made, on=["key", "item_version"], how="anti")


def cost_of(costs: pl.DataFrame, spec: str, version: int) -> Cost:
    """The cost of one spec version: of a serve of a drink, of a making of anything else.

    Of a spec without lines nothing is known: it is itself what has no price.

    Args:
        costs: as `part_costs` gives them.
    """
    own = costs.filter((pl.col("spec").str.to_lowercase() == spec.lower()) & (pl.col("version") == version))
    missing = own.filter(pl.col("cost").is_null())["item"].unique().sort().to_list() if own.height else [spec]
    return Cost(known=float(own["cost"].sum()), missing=tuple(missing))
