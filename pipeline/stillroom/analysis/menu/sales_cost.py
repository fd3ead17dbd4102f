"""What a period's sales should have cost by their specs, ingredient by ingredient, and what price changes do."""

from __future__ import annotations

from datetime import date

import polars as pl


def cost_of_sales(daily: pl.DataFrame, part_cost: pl.DataFrame) -> pl.DataFrame:
    """The theoretical cost of serves sold: what the specs say goes in, at the prices of the day, with nothing spilt.

    Args:
        daily: spec, version, business_date, serves; the days to look at. Serves without a version are left out.
        part_cost: the view of that name.

    Returns:
        spec, version, item, cost (house currency; of what has a price), unpriced_serves (serves on days on which the
        item had no price, or no way to it).
    """
    version = ["spec", "version"]
    stretches = part_cost.select(*version, "first_day").unique().sort("first_day")
    serves = pl.col("serves")
    return (
        daily.group_by(*version, "business_date")
        .agg(serves.sum().cast(pl.Float64))
        .sort("business_date")
        .join_asof(
            stretches, left_on="business_date", right_on="first_day", by=version, check_sortedness=False, coalesce=False
        )
        .group_by(*version, "first_day")
        .agg(serves.sum())
        .join(part_cost, on=[*version, "first_day"])
        .group_by(*version, "item")
        .agg(
            (pl.col("cost") * serves).fill_null(0.0).sum().alias("cost"),
            serves.filter(pl.col("cost").is_null()).sum().alias("unpriced_serves"),
        )
        .sort(*version, "item")
    )


def price_changes(changes: pl.DataFrame, day: date) -> pl.DataFrame:
    """The latest change of each ingredient's price up to a day, by item.

    Args:
        changes: the view `price_change`.
    """
    return (
        changes.filter(pl.col("changed_on") <= day)
        .sort("changed_on")
        .unique("item_key", keep="last", maintain_order=True)
        .sort("item")
    )


def price_effects(changes: pl.DataFrame, costs: pl.DataFrame, daily: pl.DataFrame) -> pl.DataFrame:
    """What each price change does to a serve of each drink, and did to the serves sold since.

    Args:
        changes: as `price_changes` gives them.
        costs: rows of the view `part_cost`, at the new prices.
        daily: spec, version, business_date, serves; the days and versions to look at.

    Returns:
        item, spec, version, serves (since the price changed), per_serve (house currency more than at the price
        before), in_all.
    """
    ratio = 1 - 1 / (1 + pl.col("change"))  # of the cost at the new price, the part that the change added
    since = pl.col("serves").filter(pl.col("business_date") >= pl.col("changed_on")).sum()
    sold = (
        daily.join(changes.select("item_key", "changed_on"), how="cross")
        .group_by("item_key", "spec", "version")
        .agg(since.cast(pl.Float64).clip(lower_bound=0))  # more taken back than sold adds nothing and saves nothing
    )
    return (
        costs.join(changes.select("item_key", "change"), on="item_key")
        .join(sold, on=["item_key", "spec", "version"])
        .group_by("item", "spec", "version", "serves")
        .agg((pl.col("cost") * ratio).sum().alias("per_serve"))
        .with_columns(in_all=pl.col("per_serve") * pl.col("serves"))
        .sort("item", "spec", "version")
    )
