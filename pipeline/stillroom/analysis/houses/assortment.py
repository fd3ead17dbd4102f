"""What houses sell that others do not, and what they lack that others sell well."""

from __future__ import annotations

from typing import Final

import polars as pl

FEW: Final = 0.1
"""Of the houses: a drink that no more of them sell is their own."""
MOST: Final = 2 / 3
"""Of the houses: a drink that as many sell is lacking where it is not sold."""


def assortment(serves: pl.DataFrame) -> pl.DataFrame:
    """How widely each drink is sold.

    Args:
        serves: house, drink, serves (of the period).

    Returns:
        drink, houses (that sell it), of (all houses), reach (houses over all), share (median share of the serves of
        the houses that sell it), by reach and share, largest first.
    """
    sold = serves.group_by("house", "drink").agg(pl.col("serves").sum()).filter(pl.col("serves") > 0)
    every = sold["house"].n_unique()
    return (
        sold.with_columns((pl.col("serves") / pl.col("serves").sum().over("house")).alias("share"))
        .group_by("drink")
        .agg(pl.len().alias("houses"), pl.col("share").median())
        .with_columns(pl.lit(every).alias("of"), (pl.col("houses") / every).alias("reach"))
        .select("drink", "houses", "of", "reach", "share")
        .sort("reach", "share", "drink", descending=[True, True, False])
    )


def differences(serves: pl.DataFrame) -> pl.DataFrame:
    """What is one house's own, and what it lacks.

    Args:
        serves: as of `assortment`.

    Returns:
        house, drink, what ('its own': at most one house in ten sells it, or it alone; 'lacks': two houses in three or
        more sell it, and not this one), share (of its own serves; of one it lacks the median of the houses that sell
        it), houses (that sell it), serves (its own; of one it lacks what that share of its serves would be: no
        forecast, as drinks take sales from each other), by house, what and share.
    """
    wide = assortment(serves)
    sold = serves.group_by("house", "drink").agg(pl.col("serves").sum()).filter(pl.col("serves") > 0)
    totals = sold.group_by("house").agg(pl.col("serves").sum().alias("total"))
    few = (pl.col("houses") == 1) | (pl.col("reach") <= FEW)
    own = (
        sold.join(wide.filter(few, pl.col("of") > 1).select("drink", "houses"), on="drink")
        .join(totals, on="house")
        .select(
            "house",
            "drink",
            pl.lit("its own").alias("what"),
            (pl.col("serves") / pl.col("total")).alias("share"),
            "houses",
            "serves",
        )
    )
    lacking = (
        totals.join(wide.filter(pl.col("reach") >= MOST, pl.col("houses") > 1), how="cross")
        .join(sold, on=["house", "drink"], how="anti")
        .select(
            "house",
            "drink",
            pl.lit("lacks").alias("what"),
            "share",
            "houses",
            (pl.col("share") * pl.col("total")).alias("serves"),
        )
    )
    return pl.concat([own, lacking]).sort("house", "what", "share", "drink", descending=[False, False, True, False])
