"""What a what-if rests on: figures that nobody knows for sure, as far as the house's own data tell them."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, timedelta

import polars as pl

from stillroom.analysis.menu.version_change import changes, effect_of
from stillroom.analysis.next_menu.assumption import Assumption, pooled
from stillroom.analysis.next_menu.menu_week import SEASON_WEEKS
from stillroom.analysis.next_menu.price_response import price_estimates
from stillroom.analysis.next_menu.returning import return_estimates
from stillroom.analysis.specs.book import SpecBook
from stillroom.answers.menu.today import Today
from stillroom.house.report_settings import MenuSettings
from stillroom.names import name_key
from stillroom.objects import HouseFacts


def return_share(today: Today) -> Assumption:
    """The part of the guests of a drink that goes who order another: as stated, narrowed by what came and went."""
    least, most = today.house.settings(MenuSettings).return_share
    estimates = [one for venue in today.venues for one in return_estimates(venue.ahead.history)]
    return pooled(least, most, estimates)


def price_response(house: HouseFacts, frames: Mapping[str, pl.DataFrame], book: SpecBook, last_day: date) -> Assumption:
    """By how many per cent serves change for 1 % of price: as stated, narrowed by the house's own price changes.

    Args:
        frames: daily_serves, current_spec, preparation_use.
    """
    least, most = house.settings(MenuSettings).price_response
    daily, spec = frames["daily_serves"], frames["current_spec"]
    if daily.is_empty():
        return pooled(least, most, [])
    first = min(daily["business_date"].to_list())
    every = changes(spec, frames["preparation_use"], first, last_day)
    builds = _builds(book)
    priced = [
        one for one in every
        if one.repriced and builds.get((name_key(one.spec), one.old)) == builds.get((name_key(one.spec), one.new))
    ]  # fmt: skip
    return pooled(least, most, price_estimates(effect_of(one, every, daily, spec) for one in priced))


def _builds(book: SpecBook) -> dict[tuple[str, int], tuple[tuple[str, float], ...]]:
    """What goes into each version, so that a change of price alone can be told."""
    return {
        key: tuple(sorted((name_key(line.item), line.base_amount) for line in spec.lines))
        for key, spec in book.specs.items()
    }


def lost_lately(today: Today) -> float:
    """Money a week that was lost of what was made in the last weeks, at cost."""
    since = today.last_day - timedelta(weeks=SEASON_WEEKS)
    made = today.frames["batch_fate"].filter(pl.col("made_on") > since)
    return float(made["cost_lost"].cast(pl.Float64).fill_null(0.0).sum()) / SEASON_WEEKS
