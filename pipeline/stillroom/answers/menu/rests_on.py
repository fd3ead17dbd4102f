"""What a what-if rests on: figures that nobody knows for sure, as far as the house's own data tell them."""

from __future__ import annotations

from datetime import timedelta

import polars as pl

from stillroom.analysis.menu.version_change import changes, effect_of
from stillroom.analysis.next_menu.assumption import Assumption, pooled
from stillroom.analysis.next_menu.menu_week import SEASON_WEEKS
from stillroom.analysis.next_menu.price_response import price_estimates
from stillroom.analysis.next_menu.returning import return_estimates
from stillroom.answers.menu.today import Today
from stillroom.house.report_settings import MenuSettings
from stillroom.names import name_key


def return_share(today: Today) -> Assumption:
    """The part of the guests of a drink that goes who order another: as stated, narrowed by what came and went."""
    least, most = today.house.settings(MenuSettings).return_share
    estimates = [one for venue in today.venues for one in return_estimates(venue.ahead.history)]
    return pooled(least, most, estimates)


def price_response(today: Today) -> Assumption:
    """By how many per cent serves change for 1 % of price: as stated, narrowed by the house's own price changes."""
    least, most = today.house.settings(MenuSettings).price_response
    daily, spec = today.frames["daily_serves"], today.frames["current_spec"]
    first = min(daily["business_date"].to_list())
    every = changes(spec, today.frames["preparation_use"], first, today.last_day)
    builds = _builds(today)
    priced = [
        one for one in every
        if one.repriced and builds.get((name_key(one.spec), one.old)) == builds.get((name_key(one.spec), one.new))
    ]  # fmt: skip
    return pooled(least, most, price_estimates(effect_of(one, every, daily, spec) for one in priced))


def _builds(today: Today) -> dict[tuple[str, int], tuple[tuple[str, float], ...]]:
    """What goes into each version, so that a change of price alone can be told."""
    return {
        key: tuple(sorted((name_key(line.item), line.base_amount) for line in spec.lines))
        for key, spec in today.book.specs.items()
    }


def lost_lately(today: Today) -> float:
    """Money a week that was lost of what was made in the last weeks, at cost."""
    since = today.last_day - timedelta(weeks=SEASON_WEEKS)
    made = today.frames["batch_fate"].filter(pl.col("made_on") > since)
    return float(made["cost_lost"].cast(pl.Float64).fill_null(0.0).sum()) / SEASON_WEEKS
