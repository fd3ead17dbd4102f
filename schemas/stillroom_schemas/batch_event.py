"""What became of a batch."""

from __future__ import annotations

import polars as pl

from stillroom_schemas import fields
from stillroom_schemas.polars_alone import PolarsData, pa

EVENTS = ["used up", "poured away", "spoiled", "counted"]


class BatchEvent(pa.DataFrameModel):
    """One thing that happened to a batch; `counted` gives the amount left."""

    batch: str = fields.text("the label on the bottle", made="the batch of the preparation that it fits")
    happened_on: pl.Date = fields.day("day it happened", past=True)
    event: str = fields.text("used up, poured away, spoiled or counted", isin=EVENTS)
    amount: float = fields.number(
        "how much; empty = all that was left; of a count, what is left after that day's losses",
        optional=True,
        unit_in="unit",
        ge=0,
    )
    unit: str = fields.unit("unit of amount; or batch: that share of what was made", optional=True, makings=True)
    reason: str = fields.text("why", optional=True)
    preparation: str = fields.text("the preparation, in a file without labels", optional=True)

    @pa.dataframe_check(error="amount|is missing: a count needs the amount left")
    def count_has_amount(cls, data: PolarsData) -> pl.LazyFrame:
        """A count without an amount says nothing."""
        counted = pl.col("amount").is_not_null() | (pl.col("event") != "counted")
        return data.lazyframe.select(counted.fill_null(True).alias("amount"))

    @pa.dataframe_check(error="unit|is missing beside an amount")
    def amount_has_unit(cls, data: PolarsData) -> pl.LazyFrame:
        """An amount without a unit cannot be converted."""
        return data.lazyframe.select((pl.col("unit").is_not_null() | pl.col("amount").is_null()).alias("unit"))
