"""One making of a preparation."""

from __future__ import annotations

import polars as pl

from stillroom_schemas import fields
from stillroom_schemas.polars_alone import PolarsData, pa
from stillroom_schemas.spec import STORAGES


class Batch(pa.DataFrameModel):
    """A batch in the book: what was made, when, how much, and until when it may be used."""

    batch: str = fields.text("the label on the bottle", made="preparation and day")
    preparation: str = fields.text("the spec that was made")
    version: int = fields.integer("its version; empty = the one in service on made_on", optional=True, ge=1)
    made_on: pl.Date = fields.day("day it was made", past=True)
    made_amount: float = fields.number("how much was made", unit_in="made_unit", gt=0)
    made_unit: str = fields.unit("unit of made_amount; or batch: so many makings of the spec", makings=True)
    use_by: pl.Date = fields.day("last day it may be used; empty = made_on + keeps_days", optional=True)
    venue: str = fields.text("where; empty = the house's only venue", optional=True)
    storage: str = fields.text("ambient, fridge or freezer", optional=True, isin=STORAGES)
    made_by: str = fields.text("who made it", optional=True)
    brix: float = fields.number("measured °Brix", optional=True, ge=0, le=100)
    ph: float = fields.number("measured pH", optional=True, ge=0, le=14)
    note: str = fields.text("anything else", optional=True)

    @pa.dataframe_check(error="use_by|is before made_on")
    def use_by_not_before_made_on(cls, data: PolarsData) -> pl.LazyFrame:
        """Nothing expires before it is made."""
        return data.lazyframe.select((pl.col("use_by") >= pl.col("made_on")).fill_null(True).alias("use_by"))
