"""What is bought, what it costs, and what is in it."""

from __future__ import annotations

import polars as pl

from stillroom_schemas import fields
from stillroom_schemas.polars_alone import PolarsData, pa

ACID_KINDS = ["citric", "malic", "tartaric", "lactic", "acetic", "phosphoric"]


class Ingredient(pa.DataFrameModel):
    """An ingredient at one price; the price holds from `priced_on` until the next."""

    item: str = fields.text("name of the ingredient, as specs call it")
    pack_amount: float = fields.number("what a pack holds", unit_in="pack_unit", gt=0)
    pack_unit: str = fields.unit("unit of pack_amount")
    pack_cost: float = fields.exact("price of a pack, house currency", optional=True, ge=0)
    priced_on: pl.Date = fields.day("the price holds from here until the next", optional=True)
    usable_pct: float = fields.number("what is left after peeling, juicing, straining, %", default=100.0, ge=0, le=100)
    abv_pct: float = fields.number("alcohol, % vol at 20 °C", optional=True, ge=0, le=100)
    sugar_pct: float = fields.number("sugar, g per 100 g", optional=True, ge=0, le=100)
    sugar_low: float = fields.number("the least it may be, as fruit differs", optional=True, ge=0, le=100)
    sugar_high: float = fields.number("the most it may be", optional=True, ge=0, le=100)
    acid_pct: float = fields.number("acid, g per 100 g, of acid_kind", optional=True, ge=0, le=100)
    acid_kind: str = fields.text("which acid; empty = as citric acid", optional=True, isin=ACID_KINDS)
    acid_low: float = fields.number("the least acid it may have, of acid_kind", optional=True, ge=0, le=100)
    acid_high: float = fields.number("the most acid it may have", optional=True, ge=0, le=100)
    density_g_ml: float = fields.number("density, g/ml", optional=True, ge=0.5, le=2.5)
    allergens: str = fields.text("allergens, separated by semicolons or commas", optional=True)
    known_as: str = fields.text("the common ingredient that it is, where its own cells are empty", optional=True)

    @pa.dataframe_check(error="sugar_high|sugar_low, sugar_pct and sugar_high must rise")
    def sugar_in_range(cls, data: PolarsData) -> pl.LazyFrame:
        """What is stated lies within its range."""
        return data.lazyframe.select(_rise("sugar_low", "sugar_pct", "sugar_high").alias("sugar_high"))

    @pa.dataframe_check(error="acid_high|acid_low, acid_pct and acid_high must rise")
    def acid_in_range(cls, data: PolarsData) -> pl.LazyFrame:
        """What is stated lies within its range."""
        return data.lazyframe.select(_rise("acid_low", "acid_pct", "acid_high").alias("acid_high"))


def _rise(low: str, value: str, high: str) -> pl.Expr:
    """Whether numbers rise, those left empty aside."""
    pairs = ((low, value), (value, high), (low, high))
    return pl.all_horizontal((pl.col(one) <= pl.col(other)).fill_null(True) for one, other in pairs)
