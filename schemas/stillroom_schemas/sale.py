"""One till line."""

from __future__ import annotations

import polars as pl

from stillroom_schemas import fields
from stillroom_schemas.polars_alone import PolarsData, pa


class Sale(pa.DataFrameModel):
    """One line of the till: what was sold, when, how many and for how much."""

    sold_at: pl.Datetime = fields.moment("when it was sold, house time zone", past=True)
    venue: str = fields.text("where; empty = the house's only venue", optional=True)
    till_item: str = fields.text("the item as the till spells it")
    quantity: float = fields.exact("how many; negative = void or refund", ge=-10_000, le=10_000, ne=0)
    net_amount: float = fields.exact("house currency, after discounts, before tax; sign follows quantity")
    check_id: str = fields.identity("the check it belongs to", optional=True)
    line_id: str = fields.identity("the till's own identity of the line", optional=True)

    @pa.dataframe_check(error="net_amount|has another sign than quantity")
    def amount_follows_quantity(cls, data: PolarsData) -> pl.LazyFrame:
        """Money goes the way the goods go; 0 is allowed (on the house)."""
        return data.lazyframe.select(
            (pl.col("net_amount") * pl.col("quantity").sign() >= 0).fill_null(True).alias("net_amount")
        )
