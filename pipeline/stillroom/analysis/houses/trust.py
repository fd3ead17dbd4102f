"""Houses whose books cannot be trusted, why, and which comparisons they are left out of.

The limits are common practice, no source: what is beyond them bends a comparison by more than houses usually differ.
"""

from __future__ import annotations

from typing import Final

import polars as pl

UNEXPLAINED: Final = 0.15
"""Of all that was made: left over in neither direction by sales, losses and counts."""
SILENT: Final = 0.1
"""Of the open days: without any sales."""
ASIDE: Final = 0.05
"""Of the rows read: set aside."""

WASTE: Final = "waste"
SALES: Final = "sales"


def doubtful(houses: pl.DataFrame) -> pl.DataFrame:
    """What is wrong with houses' books.

    Args:
        houses: house, state ('landed' or 'failed'), made_money, unexplained_money (both as sums of what was made, the
            unexplained without its sign), open_days, silent_days, rows_read, aside; null where not known.

    Returns:
        house, mark ('unexplained use', 'days without sales', 'rows set aside', 'intake failed'), share (of made, open
        days or rows read; null of a failed intake), limit, left_out ('waste', 'sales' or 'waste, sales': comparisons it
        is left out of), by house and mark.
    """
    rules = (
        ("unexplained use", "unexplained_money", "made_money", UNEXPLAINED, WASTE),
        ("days without sales", "silent_days", "open_days", SILENT, f"{WASTE}, {SALES}"),
        ("rows set aside", "aside", "rows_read", ASIDE, f"{WASTE}, {SALES}"),
    )
    marks = [
        houses.filter(pl.col(whole) > 0)
        .with_columns((pl.col(part) / pl.col(whole)).alias("share"))
        .filter(pl.col("share") > limit)
        .select(
            "house",
            pl.lit(mark).alias("mark"),
            "share",
            pl.lit(limit).alias("limit"),
            pl.lit(left_out).alias("left_out"),
        )
        for mark, part, whole, limit, left_out in rules
    ]
    failed = houses.filter(pl.col("state") != "landed").select(
        "house",
        pl.lit("intake failed").alias("mark"),
        pl.lit(None, pl.Float64).alias("share"),
        pl.lit(None, pl.Float64).alias("limit"),
        pl.lit(f"{WASTE}, {SALES}").alias("left_out"),
    )
    return pl.concat([*marks, failed]).sort("house", "mark")


def left_out_of(marks: pl.DataFrame, comparison: str) -> list[str]:
    """The houses that are left out of comparisons of waste or of sales."""
    return marks.filter(pl.col("left_out").str.contains(comparison, literal=True))["house"].unique().sort().to_list()
