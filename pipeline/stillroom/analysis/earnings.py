"""What a serve of each drink took in, what it cost, and what it left over."""

from __future__ import annotations

from datetime import date
from typing import Final

import polars as pl

LEAST_COSTED: Final = 0.5
"""Below this part of serves with a version in service, no cost is given."""

_BEGINNING: Final = date(1, 1, 1)


def earnings(daily: pl.DataFrame, spec_cost: pl.DataFrame) -> pl.DataFrame:
    """Sales, cost and contribution of a serve, per drink, over the days given.

    What came in is the till's net amount, so that discounts, tax and drinks on the house are as they were. A day's
    serves cost what the version in service cost at the prices of that day (before the first price, at the first).
    Contribution is net amount less that cost: no labour, no rent.

    Args:
        daily: spec, version (null where none was in service), business_date, serves, net_amount.
        spec_cost: spec, version, priced_from, cost (null where a price is missing), cost_known, missing.

    Returns:
        spec, serves, net_amount, net_per_serve (null without serves), cost_per_serve and contribution (null where a
        price is missing or too few serves had a version in service), cost_at_least, costed_share (of serves that had a
        version with a cost or a part of one), missing (items without price, null if none).
    """
    costed = _with_cost(daily, spec_cost)
    known = pl.col("cost_known").is_not_null()
    weighted = (pl.col("serves") * pl.col("cost_known")).filter(known).sum() / pl.col("serves").filter(known).sum()
    per_drink = costed.group_by("spec").agg(
        pl.col("serves").sum(),
        pl.col("net_amount").sum(),
        weighted.alias("cost_at_least"),
        (pl.col("serves").filter(known).sum() / pl.col("serves").sum()).alias("costed_share"),
        pl.col("missing")
        .drop_nulls()
        .str.split("; ")
        .list.explode(keep_nulls=False, empty_as_null=False)
        .unique()
        .sort()
        .str.join("; ")
        .alias("missing"),
    )
    sold = pl.col("serves") > 0
    return (
        per_drink.with_columns(
            pl.when(pl.col("missing") != "").then("missing").alias("missing"),
            pl.when(sold).then(pl.col("net_amount") / pl.col("serves")).alias("net_per_serve"),
            pl.when(sold).then("costed_share").alias("costed_share"),
            pl.when(sold).then(pl.col("cost_at_least").fill_nan(None)).alias("cost_at_least"),
        )
        .with_columns(
            pl.when(pl.col("missing").is_null() & (pl.col("costed_share") >= LEAST_COSTED))
            .then("cost_at_least")
            .alias("cost_per_serve")
        )
        .with_columns((pl.col("net_per_serve") - pl.col("cost_per_serve")).alias("contribution"))
        .sort("spec")
    )


def _with_cost(daily: pl.DataFrame, spec_cost: pl.DataFrame) -> pl.DataFrame:
    """Each day's serves with the cost of their version at that day's prices, or at the first whole ones after it."""
    prices = spec_cost.with_columns(pl.col("priced_from").fill_null(_BEGINNING)).sort("priced_from")
    later = pl.col("cost").fill_null(strategy="backward").over("spec", "version")
    prices = prices.with_columns(later.alias("cost")).with_columns(
        pl.coalesce("cost", "cost_known").alias("cost_known"),
        pl.when(pl.col("cost").is_null()).then("missing").alias("missing"),
    )
    earliest = prices.group_by("spec", "version", maintain_order=True).first()
    earliest = earliest.with_columns(pl.lit(_BEGINNING).alias("priced_from"))
    prices = pl.concat([earliest, prices]).unique(["spec", "version", "priced_from"], keep="last", maintain_order=True)
    return (
        daily.with_columns(pl.col("version").cast(prices.schema["version"]))
        .sort("business_date")
        .join_asof(
            prices.sort("priced_from"),
            left_on="business_date",
            right_on="priced_from",
            by=["spec", "version"],
            check_sortedness=False,
        )
        .select("spec", "serves", "net_amount", "cost_known", "missing")
    )
