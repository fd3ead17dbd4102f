"""A season's figures for every drink: how it sold, what it earned, where it is going."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Final

import numpy as np
import polars as pl

from stillroom.analysis.menu.days import days_on_menu, menu_spans, weekly_serves
from stillroom.analysis.menu.earnings import earnings
from stillroom.analysis.menu.going import HouseTrend, house_trend, may_go_with_house, venue_trends, with_trends
from stillroom.analysis.menu.mix import LITTLE, NEAR_MARK, WELL, average_contribution, menu_mix, place_words
from stillroom.analysis.menu.place import (
    NORMAL,
    Choices,
    choices,
    clear_of,
    dispersion,
    share_ends,
    shares_of_choice,
)
from stillroom.analysis.once import once


@dataclass(frozen=True, kw_only=True)
class SeasonFigures:
    """What a season came to."""

    drinks: pl.DataFrame
    """One row a drink on the menu, most sold first; see `season_figures`."""
    weeks: pl.DataFrame
    """spec, week (its Monday), open_days, serves, serves_per_day."""
    house: HouseTrend
    venues: Mapping[str, HouseTrend]
    """Where there are several."""
    open_days: int
    """Days on which any venue sold a drink."""
    average_contribution: float | None
    """Of a serve, over the drinks whose contribution is known."""


@once
def season_figures(
    daily: pl.DataFrame, spec: pl.DataFrame, spec_cost: pl.DataFrame, first: date, last: date
) -> SeasonFigures:
    """Work out a season from daily serves, specs and costs.

    Returns:
        `drinks` with the columns of `earnings` and `menu_mix`, and first_day, last_day, days (on the menu, with a venue
        open that sells it), part_season, serves_per_day, share_low, share_high, contribution_low, contribution_high
        (95 % intervals), mark_clear and earns_clear (on one side of the mark beyond chance and near ties), does (in
        words, 'near the mark' where it is not), going (rising, falling, stepped up, stepped down, no clear trend,
        cannot tell), change, low, high (trend a week; null where it stepped), step_week (the first of the new level),
        step_ratio, step_low, step_high (after over before, a day), step_known (a new version or price came then),
        why_not, with_house (it sells less, but may do so no more than the whole house does).
    """
    daily = daily.filter(pl.col("business_date").is_between(first, last))
    spans = menu_spans(spec, daily, first, last)
    on_menu = days_on_menu(spans, daily)
    weeks = weekly_serves(on_menu, daily)
    drinks = placed_drinks(spans, on_menu, daily, earnings(daily, spec_cost))
    average = average_contribution(drinks)
    house = house_trend(daily, first, last)
    going = with_trends(drinks, weeks, spec).sort("serves", "spec", descending=[True, False])
    with_house = [may_go_with_house(row, house) for row in going.iter_rows(named=True)]
    return SeasonFigures(
        drinks=going.with_columns(pl.Series("with_house", with_house, pl.Boolean)),
        weeks=weeks,
        house=house,
        venues=venue_trends(daily, first, last),
        open_days=daily.filter(pl.col("serves") > 0)["business_date"].n_unique(),
        average_contribution=None if average is None else float(average),
    )


SOLD_NOTHING: Final = "sold nothing"
"""What a drink does that was on the menu and of which the till knows nothing."""
OFF_AFTER: Final = 7
"""Days before the period's end from which a drink that no longer sells counts as taken off."""


def off_the_menu(last: date) -> pl.Expr:
    """Whether a row of `SeasonFigures.drinks` had left the menu by the end of the period."""
    return pl.col("last_day") <= last - timedelta(days=OFF_AFTER)


def placed_drinks(
    spans: pl.DataFrame, on_menu: pl.DataFrame, daily: pl.DataFrame, earned: pl.DataFrame
) -> pl.DataFrame:
    """Every drink on the menu with its place on the map: the columns of `season_figures` but for the trends."""
    days = on_menu.group_by("spec").agg(pl.len().cast(pl.Float64).alias("days"))
    # A drink in service that never sold has no venue of its own; it stood on the menu as long as its span says.
    longest = days["days"].max() if days.height else 1.0
    found = choices(spans, daily)
    shares, exposure = shares_of_choice(found)
    # Rounded, so that drinks on the menu equally long are so exactly, in whatever order the sum was taken.
    exposed = pl.DataFrame({"spec": found.drinks, "exposure": np.where(exposure > 0, exposure, 1.0).round(6)}).cast(
        {"spec": pl.String, "exposure": pl.Float64}
    )
    joined = (
        exposed.join(spans, on="spec", how="left", maintain_order="left")
        .join(days, on="spec", how="left", maintain_order="left")
        .join(earned, on="spec", how="left", maintain_order="left")
        .with_columns(pl.col("days").fill_null(longest), pl.col("serves", "net_amount").fill_null(0.0))
        .with_columns(pl.col("serves").clip(0).alias("sold"))
    )
    items = joined.rename({"days": "open_days"}).rename({"exposure": "days"})
    mixed = menu_mix(items).rename({"days": "exposure", "open_days": "days"})
    nothing = (pl.col("serves") == 0) & (pl.col("net_amount") == 0)  # left nothing over, whatever it costs
    return mixed.with_columns(
        (pl.col("serves") / pl.col("days")).alias("serves_per_day"),
        (pl.col("exposure") < pl.col("exposure").max()).alias("part_season"),
        *_sure_places(mixed, found, shares),
    ).with_columns(
        pl.when(nothing).then(pl.lit(SOLD_NOTHING)).otherwise("does").alias("does"),
        pl.when(nothing).then(0.0).otherwise("total_contribution").alias("total_contribution"),
    )


def _sure_places(mixed: pl.DataFrame, found: Choices, shares: np.ndarray) -> list[pl.Series]:
    """Both axes with their intervals, whether each is clear of its mark, and the place in words."""
    dispersed = dispersion(found, shares)
    low, high = share_ends(found, shares, dispersed)
    average = average_contribution(mixed)
    least, most, apart = _contribution_ends(mixed, dispersed, None if average is None else float(average))
    sells, earns, words = [], [], []
    for place, row in enumerate(mixed.iter_rows(named=True)):
        share, contribution = row["daily_share"], row["contribution"]
        sells.append(share is not None and clear_of(share, low[place], high[place], row["share_mark"]))
        known = contribution is not None and average is not None
        earns.append(known and clear_of(contribution, least[place] - apart, most[place] + apart, float(average or 0)))
        earning = (WELL if row["earns_well"] else LITTLE) if earns[-1] else NEAR_MARK
        selling = (WELL if row["sells_well"] else LITTLE) if sells[-1] else NEAR_MARK
        words.append(place_words(selling, earning if known else None))
    return [
        pl.Series("share_low", low, pl.Float64),
        pl.Series("share_high", high, pl.Float64),
        pl.Series("contribution_low", least, pl.Float64, nan_to_null=True),
        pl.Series("contribution_high", most, pl.Float64, nan_to_null=True),
        pl.Series("mark_clear", sells, pl.Boolean),
        pl.Series("earns_clear", earns, pl.Boolean),
        pl.Series("does", words, pl.String),
    ]


def _contribution_ends(
    mixed: pl.DataFrame, dispersed: np.ndarray, average: float | None
) -> tuple[np.ndarray, np.ndarray, float]:
    """Both ends of each drink's contribution (NaN where not known), and how far chance moves the average of all.

    What the till took varies from day to day; what a serve cost lies between its least and its most in the period. The
    average moves with what was ordered.
    """
    columns = ("contribution", "net_error", "cost_per_serve", "cost_low", "cost_high", "sold")
    contribution, error, cost, cheap, dear, sold = (mixed[name].to_numpy().astype(float) for name in columns)
    reach = NORMAL * np.nan_to_num(error)
    known = np.isfinite(contribution) & (sold > 0)
    if average is None or not known.any():
        return contribution, contribution, 0.0
    moves = (contribution - average)[known] ** 2 * dispersed[known] * sold[known]
    apart = NORMAL * float(moves.sum()) ** 0.5 / float(sold[known].sum())
    return contribution - (dear - cost) - reach, contribution + (cost - cheap) + reach, apart
