"""What a serve of each drink took in, what it cost, and what it left over."""

from __future__ import annotations

from typing import Final

import polars as pl

LEAST_COSTED: Final = 0.5
"""Below this part of serves with a whole cost, no cost is given."""
SOLD: Final = pl.col("serves").clip(0)
"""A day's serves, as the cost of a serve is weighted: taken back at another day's price, they would bend it."""


def earnings(daily: pl.DataFrame, spec_cost: pl.DataFrame) -> pl.DataFrame:
    """Sales, cost and contribution of a serve, per drink, over the days given.

    What came in is the till's net amount, so that discounts, tax and drinks on the house are as they were. A day's
    serves cost what the version in service cost at the prices of that day. Days before something's first price have no
    cost: where at least half of the serves have one, theirs stands for the drink. A day on which more was taken back
    than sold has no say in the cost of a serve. Contribution is net amount less that cost: no labour, no rent.

    Args:
        daily: spec, version (null where none was in service), business_date, serves, net_amount.
        spec_cost: spec, version, priced_from, cost (null where a price is missing), cost_known, missing.

    Returns:
        spec, serves, net_amount, net_per_serve (null without serves), net_error (standard error of that, from day to
        day), cost_low and cost_high (the least and the most that a serve cost on a day), cost_per_serve and
        contribution (of serves with a whole cost; null where too few have one), cost_at_least (of serves with a cost or
        a part of one), costed_share (of serves, those with a whole cost), missing (what had no price on a day on which
        the drink was sold, with the day before which it had none if one came later: 'pear before 2026-03-02; soda';
        null if nothing).
    """
    sold = pl.col("serves") > 0
    return (
        _with_cost(daily, spec_cost)
        .group_by("spec")
        .agg(
            pl.col("serves").sum(),
            pl.col("net_amount").sum(),
            _error_of_net().alias("net_error"),
            pl.col("cost").filter(pl.col("serves") > 0).min().alias("cost_low"),
            pl.col("cost").filter(pl.col("serves") > 0).max().alias("cost_high"),
            _a_serve("cost").alias("cost_per_serve"),
            _a_serve("cost_known").alias("cost_at_least"),
            (_serves_with("cost") / SOLD.sum()).alias("costed_share"),
            _names_of_all("missing"),
        )
        .with_columns(
            pl.when(sold).then(pl.col("net_amount") / pl.col("serves")).alias("net_per_serve"),
            pl.when(sold).then("costed_share").alias("costed_share"),
            pl.when(sold).then("cost_at_least").alias("cost_at_least"),
        )
        .with_columns(pl.when(pl.col("costed_share") >= LEAST_COSTED).then("cost_per_serve").alias("cost_per_serve"))
        .with_columns((pl.col("net_per_serve") - pl.col("cost_per_serve")).alias("contribution"))
        .sort("spec")
    )


def cost_of_days(daily: pl.DataFrame, spec_cost: pl.DataFrame) -> pl.DataFrame:
    """What a serve cost on each day on which it was sold, by the version in service and the prices of the day.

    Returns:
        spec, business_date, cost (null where a price is missing).
    """
    dated = _with_cost(daily.filter(pl.col("serves") > 0), spec_cost)
    return dated.group_by("spec", "business_date").agg(pl.col("cost").max()).sort("spec", "business_date")


def _serves_with(cost: str) -> pl.Expr:
    return SOLD.filter(pl.col(cost).is_not_null()).sum()


def _a_serve(cost: str) -> pl.Expr:
    """The cost of a serve, over the days on which it is known."""
    return pl.when(_serves_with(cost) > 0).then((SOLD * pl.col(cost)).sum() / _serves_with(cost))


def _error_of_net() -> pl.Expr:
    """Standard error of net amount over serves, a ratio of sums over days (Cochran 1977, 6.4, from memory)."""
    serves, net = pl.col("serves"), pl.col("net_amount")
    left = net - net.sum() / serves.sum() * serves
    days = pl.len()
    error = ((left**2).sum() * days / (days - 1)).sqrt() / serves.sum()
    return pl.when((days > 1) & (serves.sum() > 0)).then(error).otherwise(0.0)


def _names_of_all(column: str) -> pl.Expr:
    """The names in all lists of days with sales, each once; null if there is none."""
    names = (
        pl.col(column)
        .filter(pl.col("serves") > 0)
        .drop_nulls()
        .str.split("; ")
        .list.explode(keep_nulls=False, empty_as_null=False)
    )
    text = names.unique().sort().str.join("; ")
    return pl.when(text != "").then(text).alias(column)


def _with_cost(daily: pl.DataFrame, spec_cost: pl.DataFrame) -> pl.DataFrame:
    """Each day's serves with the cost of their version at that day's prices."""
    prices = _with_days_of_first_prices(spec_cost.sort("priced_from"))
    return (
        daily.with_columns(pl.col("version").cast(prices.schema["version"]))
        .sort("business_date")
        .join_asof(
            prices,
            left_on="business_date",
            right_on="priced_from",
            by=["spec", "version"],
            check_sortedness=False,
        )
        .select("spec", "business_date", "serves", "net_amount", "cost", "cost_known", "missing")
    )


def _with_days_of_first_prices(prices: pl.DataFrame) -> pl.DataFrame:
    """The same (sorted by priced_from), where each missing item says before which day it has no price, if it has one
    from then on."""
    version = ["spec", "version"]
    items = (
        prices.with_columns(until=pl.col("priced_from").shift(-1).over(version))
        .with_columns(pl.col("missing").str.split("; ").alias("item"))
        .explode("item", keep_nulls=False, empty_as_null=False)
        .with_columns(pl.col("until").last().over(*version, "item"))
    )
    before = pl.format("{} before {}", "item", pl.col("until").cast(pl.String))
    named = items.group_by(*version, "priced_from", maintain_order=True).agg(
        pl.coalesce(before, "item").str.join("; ").alias("missing")
    )
    return prices.drop("missing").join(named, on=[*version, "priced_from"], how="left", maintain_order="left")
