"""On how many days each drink was on the menu, and the drinks' sales by week."""

from __future__ import annotations

from datetime import date

import polars as pl


def menu_spans(spec: pl.DataFrame, daily: pl.DataFrame, first: date, last: date) -> pl.DataFrame:
    """When each drink that was sold was on the menu, within first..last.

    A drink's span runs over all its versions, from the earliest `in_service_from` to the latest
    `in_service_until`, an open end being the period's. A span is widened to hold every day on which the drink sold;
    a drink without any date in its specs was on the menu from its first to its last sale. A version without dates
    beside dated ones is a trial and says nothing.

    Args:
        spec: spec, kind, in_service_from, in_service_until, one row a version.
        daily: spec, business_date, serves, within the period.

    Returns:
        spec, first_day, last_day; drinks that neither sold nor were in service are not in it.
    """
    starts, ends = pl.col("in_service_from"), pl.col("in_service_until")
    written = (
        spec.filter(pl.col("kind") == "drink", starts.is_not_null() | ends.is_not_null())
        .group_by("spec")
        .agg(
            starts.fill_null(first).min().alias("first_day"),
            ends.fill_null(last).max().alias("last_day"),
        )
        .filter((pl.col("first_day") <= last) & (pl.col("last_day") >= first))
    )
    sold = (
        daily.filter(pl.col("serves") > 0)
        .group_by("spec")
        .agg(pl.col("business_date").min().alias("first_day"), pl.col("business_date").max().alias("last_day"))
    )
    return (
        pl.concat([written, sold])
        .group_by("spec")
        .agg(
            pl.col("first_day").min().clip(lower_bound=first),
            pl.col("last_day").max().clip(upper_bound=last),
        )
        .sort("spec")
    )


def days_on_menu(spans: pl.DataFrame, daily: pl.DataFrame) -> pl.DataFrame:
    """Days of each drink's span on which a venue that sold it was open, each with its weight.

    A venue is open on a day on which it sold any drink. What an open venue weighs on a day is its trade on such a
    weekday (mean 1 over all), so that a drink that came in for a Friday and Saturday is not taken for a better seller,
    nor one to fall off when the smaller of two venues closes.

    Returns:
        spec, business_date, weight (sum over venues).
    """
    weekday = pl.col("business_date").dt.weekday()
    open_days = daily.group_by("venue", "business_date").agg(pl.col("serves").sum()).filter(pl.col("serves") > 0)
    weights = (
        open_days.with_columns(weekday.alias("weekday"))
        .group_by("venue", "weekday")
        .agg(pl.col("serves").mean().alias("typical"), pl.len().alias("days"))
        .with_columns(
            (pl.col("typical") * pl.col("days").sum() / (pl.col("typical") * pl.col("days")).sum()).alias("weight")
        )
    )
    venues = daily.filter(pl.col("serves") > 0).select("venue", "spec").unique()
    return (
        open_days.with_columns(weekday.alias("weekday"))
        .join(weights.select("venue", "weekday", "weight"), on=["venue", "weekday"])
        .join(venues, on="venue")
        .join(spans, on="spec")
        .filter(pl.col("business_date").is_between("first_day", "last_day"))
        .group_by("spec", "business_date")
        .agg(pl.col("weight").sum())
        .sort("spec", "business_date")
    )


def weekly_serves(on_menu: pl.DataFrame, daily: pl.DataFrame) -> pl.DataFrame:
    """Serves and net amount of each drink by week (from Monday), zero in a week on the menu without a sale.

    Returns:
        spec, week (its Monday), open_days, weight (of those days), serves, net_amount, serves_per_day.
    """
    sold = daily.group_by("spec", "business_date").agg(pl.col("serves", "net_amount").sum())
    return (
        on_menu.join(sold, on=["spec", "business_date"], how="left")
        .with_columns(
            pl.col("serves", "net_amount").fill_null(0.0), pl.col("business_date").dt.truncate("1w").alias("week")
        )
        .group_by("spec", "week")
        .agg(pl.len().alias("open_days"), pl.col("weight", "serves", "net_amount").sum())
        .with_columns((pl.col("serves") / pl.col("open_days")).alias("serves_per_day"))
        .sort("spec", "week")
    )
