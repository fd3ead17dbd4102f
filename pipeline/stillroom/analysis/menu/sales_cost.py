"""What a period's sales should have cost by their specs, ingredient by ingredient, and what price changes do."""

from __future__ import annotations

from datetime import date, timedelta

import polars as pl

from stillroom.analysis.specs.costing import part_costs, prices_on


def cost_of_sales(daily: pl.DataFrame, parts: pl.DataFrame, ingredients: pl.DataFrame) -> pl.DataFrame:
    """The theoretical cost of serves sold: what the specs say goes in, at the prices of the day, with nothing spilt.

    Args:
        daily: spec, version, business_date, serves; the days to look at. Serves without a version are left out.
        parts: the view `spec_parts`.
        ingredients: columns of the table `ingredient`.

    Returns:
        spec, version, item, cost (house currency; of what has a price), unpriced_serves (serves on days on which the
        item had no price, or no way to it).
    """
    rows = [
        _epoch(daily.filter(pl.col("business_date").is_between(first, last)), part_costs(parts, ingredients, first))
        for first, last in price_epochs(daily, ingredients)
    ]
    schema = {"spec": pl.String, "version": pl.Int64, "item": pl.String}
    empty = pl.DataFrame(schema={**schema, "cost": pl.Float64, "unpriced_serves": pl.Float64})
    return (
        pl.concat([empty, *rows])
        .group_by("spec", "version", "item")
        .agg(pl.col("cost", "unpriced_serves").sum())
        .sort("spec", "version", "item")
    )


def _epoch(daily: pl.DataFrame, costs: pl.DataFrame) -> pl.DataFrame:
    """Serves of a stretch of days with one price list, times what each part costs in it."""
    sold = daily.group_by("spec", "version").agg(pl.col("serves").sum().cast(pl.Float64))
    serves = pl.col("serves")
    return sold.join(
        costs.with_columns(pl.col("version").cast(sold.schema["version"])), on=["spec", "version"], how="inner"
    ).select(
        "spec",
        pl.col("version").cast(pl.Int64),
        "item",
        (pl.col("cost") * serves).fill_null(0.0).alias("cost"),
        pl.when(pl.col("cost").is_null()).then(serves).otherwise(0.0).alias("unpriced_serves"),
    )


def price_epochs(daily: pl.DataFrame, ingredients: pl.DataFrame) -> list[tuple[date, date]]:
    """Stretches of the days in `daily` during which no price changes: (first, last), both included, in order."""
    if daily.is_empty():
        return []
    first, last = daily["business_date"].min(), daily["business_date"].max()
    assert isinstance(first, date)
    assert isinstance(last, date)
    changes = ingredients["priced_on"].drop_nulls().unique().sort().to_list()
    starts = [first, *(day for day in changes if first < day <= last)]
    ends = [*(day - timedelta(days=1) for day in starts[1:]), last]
    return list(zip(starts, ends, strict=True))


def price_changes(ingredients: pl.DataFrame, day: date) -> pl.DataFrame:
    """The latest change of each ingredient's price up to a day.

    Returns:
        item, changed_on, base (ml, g, each), before, after (house currency for one base unit of the usable part),
        change (share of the price before). Only items whose price moved, and is measured in the same base as before.
    """
    rows = []
    priced = ingredients.filter(pl.col("priced_on").is_not_null() & (pl.col("priced_on") <= day))
    for changed_on in priced["priced_on"].unique().sort().to_list():
        before = prices_on(ingredients, changed_on - timedelta(days=1))
        after = prices_on(ingredients, changed_on).filter(pl.col("priced_on") == changed_on)
        rows.append(
            after.join(before, on=["key", "base"], suffix="_before").select(
                "key",
                "base",
                pl.lit(changed_on).alias("changed_on"),
                pl.col("unit_cost_before").alias("before"),
                pl.col("unit_cost").alias("after"),
            )
        )
    schema = {"key": pl.String, "base": pl.String, "changed_on": pl.Date, "before": pl.Float64, "after": pl.Float64}
    names = ingredients.select("item", key=pl.col("item").str.to_lowercase()).unique("key", keep="last")
    moved = (pl.col("before") > 0) & ((pl.col("after") / pl.col("before") - 1).abs() > 1e-9)
    return (
        pl.concat([pl.DataFrame(schema=schema), *rows])
        .filter(moved)
        .sort("changed_on")
        .unique("key", keep="last", maintain_order=True)
        .join(names, on="key", how="left")
        .with_columns(change=pl.col("after") / pl.col("before") - 1)
        .select("item", "changed_on", "base", "before", "after", "change")
        .sort("item")
    )


def price_effects(changes: pl.DataFrame, costs: pl.DataFrame, daily: pl.DataFrame) -> pl.DataFrame:
    """What each price change does to a serve of each drink, and did to the serves sold since.

    Args:
        changes: as `price_changes` gives them.
        costs: as `part_costs` gives them, at the new prices.
        daily: spec, version, business_date, serves; the days and versions to look at.

    Returns:
        item, spec, version, serves (since the price changed), per_serve (house currency more than at the price
        before), in_all.
    """
    ratio = 1 - 1 / (1 + pl.col("change"))  # of the cost at the new price, the part that the change added
    since = pl.col("serves").filter(pl.col("business_date") >= pl.col("changed_on")).sum()
    sold = (
        daily.with_columns(pl.col("version").cast(costs.schema["version"]))
        .join(changes.select("changed_on", key=pl.col("item").str.to_lowercase()), how="cross")
        .group_by("key", "spec", "version")
        .agg(since.cast(pl.Float64))
    )
    return (
        costs.with_columns(key=pl.col("item").str.to_lowercase())
        .join(changes.select("change", key=pl.col("item").str.to_lowercase()), on="key")
        .join(sold, on=["key", "spec", "version"])
        .group_by("item", "spec", "version", "serves")
        .agg((pl.col("cost") * ratio).sum().alias("per_serve"))
        .with_columns(in_all=pl.col("per_serve") * pl.col("serves"))
        .sort("item", "spec", "version")
    )
