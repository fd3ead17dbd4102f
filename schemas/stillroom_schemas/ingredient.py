"""What is bought, what it costs, and what is in it."""

from __future__ import annotations

import pandera.polars as pa
import polars as pl

from stillroom_schemas import fields


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
    acid_pct: float = fields.number("acid, g per 100 g, as citric acid", optional=True, ge=0, le=100)
    density_g_ml: float = fields.number("density, g/ml", optional=True, ge=0.5, le=2.5)
    allergens: str = fields.text("allergens, separated by semicolons or commas", optional=True)
