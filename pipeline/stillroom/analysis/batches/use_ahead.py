"""The use of each preparation on the days ahead, with what today's makings of other preparations take of it."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import Final

import numpy as np
import polars as pl

from stillroom.analysis.batches.on_hand import UseOfStock, held
from stillroom.analysis.demand.ahead import DemandAhead, demand_ahead
from stillroom.analysis.demand.preparation_need import PreparationNeed
from stillroom.analysis.demand.sales_history import Calendar

FARTHEST: Final = 28
"""Days after the last one in the data for which a prep list can be drawn up."""
LONGEST_LOOK: Final = 42
"""Days ahead of a making that are weighed, at most."""


def house_wide(frames: Mapping[str, pl.DataFrame], house: str) -> dict[str, pl.DataFrame]:
    """The frames as if the house were one venue, where some batches are not kept by venue; else as they are."""
    fate = frames["batch_fate"]
    if not fate["venue"].null_count():
        return dict(frames)
    return {
        name: frame.with_columns(pl.lit(house).alias("venue")) if "venue" in frame.columns else frame
        for name, frame in frames.items()
    }


def stock_demand(
    frames: Mapping[str, pl.DataFrame], venue: str, last_day: date, calendar: Calendar
) -> DemandAhead | None:
    """The forecast of a venue that all that is said of its stock rests on; None where it never sold a drink."""
    return demand_ahead(dict(frames), venue, last_day, FARTHEST + LONGEST_LOOK, calendar)


def usual_use(ahead: DemandAhead, fate: pl.DataFrame) -> dict[str, np.ndarray]:
    """Draws by days of the use of each preparation, when others are made of it as far as their own use asks for it.

    Args:
        ahead: of one venue.
        fate: preparation, on_hand; of the same venue.
    """
    there = dict(held(fate).group_by("preparation").agg(pl.col("on_hand").sum()).rows())
    use = UseAhead(ahead, 0)
    found = {}
    for name in outer_first(ahead.need):
        found[name] = use.of(name)
        use.plan(name, 0.0, there.get(name, 0.0))
    return found


def use_of_stock(frames: Mapping[str, pl.DataFrame], last_day: date, calendar: Calendar) -> UseOfStock:
    """The use to come of every preparation of every venue that sells.

    Args:
        frames: daily_serves, current_spec, preparation_use, batch_fate; as `house_wide` gives them.
    """
    found: dict[tuple[str | None, str], np.ndarray] = {}
    for venue in sorted(frames["daily_serves"]["venue"].drop_nulls().unique().to_list()):
        ahead = stock_demand(frames, venue, last_day, calendar)
        if ahead is not None:
            fate = frames["batch_fate"].filter(pl.col("venue") == venue)
            found |= {(venue, name): use for name, use in usual_use(ahead, fate).items()}
    return found


def outer_first(need: PreparationNeed) -> list[str]:
    """Preparations in an order in which each comes before those that go into it."""
    waiting = {place: set(np.flatnonzero(need.inner[:, place] > 0).tolist()) for place in range(len(need.preparations))}
    order: list[int] = []
    while waiting:
        ready = [place for place, outer in waiting.items() if not outer - set(order)]
        # The store refuses specs that go in a circle; whatever still waits then has nothing to wait for.
        order += ready or list(waiting)
        waiting = {place: outer for place, outer in waiting.items() if place not in order}
    return [need.preparations[place] for place in order]


class UseAhead:
    """Draws of the use of each preparation from a day on, outer ones first.

    What goes into another preparation is used when that is made: today's planned making of it now, and later what its
    own use asks for beyond what is then there.
    """

    def __init__(self, ahead: DemandAhead, gap: int) -> None:
        self.need = ahead.need
        self._straight = ahead.draws[:, : gap + LONGEST_LOOK].astype(float)
        self._gap = gap
        self._use: dict[str, np.ndarray] = {}
        self._there: dict[str, float] = {}
        self._planned: dict[str, float] = {}

    def before(self, preparation: str) -> float:
        """Mean use between the last day in the data and the day."""
        place = self.need.preparations.index(preparation)
        return float((self._straight[:, : self._gap].sum(axis=1) @ self.need.straight[:, place]).mean())

    def of(self, preparation: str) -> np.ndarray:
        """Draws by days of its use; all that it goes into must have been planned."""
        place = self.need.preparations.index(preparation)
        use = self._straight[:, self._gap :] @ self.need.straight[:, place]
        for outer in self._outer(place):
            rate = self.need.inner[self.need.preparations.index(outer), place]
            beyond = np.maximum(self._use[outer].cumsum(axis=1) - self._there[outer], 0.0)
            use = use + rate * np.diff(beyond, axis=1, prepend=0.0)
            use[:, 0] += rate * self._planned[outer]
        self._use[preparation] = use
        return np.asarray(use)

    def plan(self, preparation: str, make: float, on_hand: float) -> None:
        """Note what is made of a preparation today, and what is there of it."""
        self._planned[preparation] = make
        self._there[preparation] = make + on_hand

    def served(self, preparation: str) -> bool:
        """Whether drinks take of it themselves."""
        return bool(self.need.straight[:, self.need.preparations.index(preparation)].any())

    def goes_into_it(self, preparation: str) -> tuple[tuple[str, float], ...]:
        """The preparations that a making of it takes, and how much of each for one unit of it."""
        rates = self.need.inner[self.need.preparations.index(preparation)]
        return tuple((self.need.preparations[place], float(rates[place])) for place in np.flatnonzero(rates > 0))

    def wanted_today(self, preparation: str) -> tuple[tuple[str, float], ...]:
        """What of it today's planned makings take: outer preparation, amount."""
        place = self.need.preparations.index(preparation)
        wanted = [
            (outer, float(self.need.inner[self.need.preparations.index(outer), place] * self._planned[outer]))
            for outer in self._outer(place)
        ]
        return tuple((outer, amount) for outer, amount in wanted if amount > 0)

    def _outer(self, place: int) -> list[str]:
        return [self.need.preparations[row] for row in np.flatnonzero(self.need.inner[:, place] > 0)]
