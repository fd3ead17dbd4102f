"""A season's figures for every drink: how it sold, what it earned, where it is going."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import Final

import polars as pl

from stillroom.analysis.holm import holm
from stillroom.analysis.intervals import share_interval
from stillroom.analysis.menu.days import days_on_menu, menu_spans, weekly_serves
from stillroom.analysis.menu.earnings import earnings
from stillroom.analysis.menu.mix import average_contribution, menu_mix
from stillroom.analysis.menu.trend import Trend, weekly_trend

LEVEL: Final = 0.05
"""A trend is named when its p-value, adjusted for the number of drinks (Holm), is below this."""

HOUSE: Final = "(all drinks)"


@dataclass(frozen=True, kw_only=True)
class SeasonFigures:
    """What a season came to."""

    drinks: pl.DataFrame
    """One row a drink on the menu, most sold first; see `season_figures`."""
    weeks: pl.DataFrame
    """spec, week (its Monday), open_days, serves, serves_per_day."""
    house: Trend
    """Trend of all drinks together."""
    open_days: int
    """Days on which any venue sold a drink."""
    average_contribution: float | None
    """Of a serve, over the drinks whose contribution is known."""


def season_figures(
    daily: pl.DataFrame, spec: pl.DataFrame, spec_cost: pl.DataFrame, first: date, last: date
) -> SeasonFigures:
    """Work out a season from daily serves, specs and costs.

    Returns:
        `drinks` with the columns of `earnings` and `menu_mix`, and first_day, last_day, days (open days on the menu,
        summed over venues), part_season, serves_per_day, mark_clear (its share is clear of the mark by Wilson's
        interval), change, low, high (trend a week), going (rising, falling, no clear trend, cannot tell), why_not.
    """
    daily = daily.filter(pl.col("business_date").is_between(first, last))
    spans = menu_spans(spec, daily, first, last)
    on_menu = days_on_menu(spans, daily)
    weeks = weekly_serves(on_menu, daily)
    drinks = _mix(spans, on_menu, earnings(daily, spec_cost))
    average = average_contribution(drinks)
    return SeasonFigures(
        drinks=_with_trends(drinks, weeks).sort("serves", "spec", descending=[True, False]),
        weeks=weeks,
        house=_house_trend(daily, first, last),
        open_days=daily.filter(pl.col("serves") > 0)["business_date"].n_unique(),
        average_contribution=None if average is None else float(average),
    )


OFF_AFTER: Final = 7
"""Days before the period's end from which a drink that no longer sells counts as taken off."""


def off_the_menu(last: date) -> pl.Expr:
    """Whether a row of `SeasonFigures.drinks` had left the menu by the end of the period."""
    return pl.col("last_day") <= last - timedelta(days=OFF_AFTER)


def _mix(spans: pl.DataFrame, on_menu: pl.DataFrame, earned: pl.DataFrame) -> pl.DataFrame:
    days = on_menu.group_by("spec").agg(
        pl.col("open_days").sum().alias("days"),
        # Rounded, so that drinks on the menu equally long are so exactly, in whatever order the sum was taken.
        pl.col("weight").sum().round(6),
    )
    # A drink in service that never sold has no venue of its own; it stood on the menu as long as its span says.
    longest = days.select(pl.col("days").max(), pl.col("weight").max()).row(0) if days.height else (1.0, 1.0)
    joined = (
        spans.join(days, on="spec", how="left")
        .join(earned, on="spec", how="left")
        .with_columns(
            pl.col("days").fill_null(longest[0]),
            pl.col("weight").fill_null(longest[1]),
            pl.col("serves", "net_amount").fill_null(0.0),
        )
        .with_columns(pl.col("serves").clip(0).alias("sold"))
    )
    items = joined.rename({"days": "open_days"}).rename({"weight": "days"})
    mixed = menu_mix(items).rename({"days": "weight", "open_days": "days"})
    return mixed.with_columns(
        (pl.col("serves") / pl.col("days")).alias("serves_per_day"),
        (pl.col("weight") < pl.col("weight").max()).alias("part_season"),
        _mark_clear(mixed),
    )


def _mark_clear(mixed: pl.DataFrame) -> pl.Series:
    """Whether chance alone could have put a drink on the other side of the popularity mark."""
    total = round(mixed["sold"].sum())
    clear: list[bool] = []
    for share, mark in mixed.select("daily_share", "share_mark").rows():
        if share is None or total < 1:
            clear.append(False)
            continue
        low, high = share_interval(round(share * total), total)
        clear.append(not low <= mark <= high)
    return pl.Series("mark_clear", clear, pl.Boolean)


def _with_trends(drinks: pl.DataFrame, weeks: pl.DataFrame) -> pl.DataFrame:
    trends = {name: _trend(weeks.filter(pl.col("spec") == name)) for name in drinks["spec"]}
    told = [name for name, trend in trends.items() if trend.p_value is not None]
    adjusted = dict(zip(told, holm([p for t in trends.values() if (p := t.p_value) is not None]), strict=True))
    rows = [
        {
            "spec": name,
            "change": trend.change,
            "low": trend.low,
            "high": trend.high,
            "going": _going(trend, adjusted.get(name)),
            "why_not": trend.why_not or None,
        }
        for name, trend in trends.items()
    ]
    schema = {"spec": pl.String, "change": pl.Float64, "low": pl.Float64, "high": pl.Float64}
    return drinks.join(
        pl.DataFrame(rows, schema={**schema, "going": pl.String, "why_not": pl.String}), on="spec", how="left"
    )


def _going(trend: Trend, adjusted: float | None) -> str:
    if trend.change is None or adjusted is None:
        return "cannot tell"
    if adjusted >= LEVEL:
        return "no clear trend"
    return "rising" if trend.change > 0 else "falling"


def _trend(weeks: pl.DataFrame) -> Trend:
    if weeks.is_empty():
        return weekly_trend([], [], [])
    number = ((weeks["week"] - weeks["week"].min()).dt.total_days() // 7).to_list()
    return weekly_trend(number, weeks["serves"].to_list(), weeks["weight"].to_list())


def _house_trend(daily: pl.DataFrame, first: date, last: date) -> Trend:
    together = daily.with_columns(pl.lit(HOUSE).alias("spec"))
    spans = pl.DataFrame({"spec": [HOUSE], "first_day": [first], "last_day": [last]})
    return _trend(weekly_serves(days_on_menu(spans, together), together))
