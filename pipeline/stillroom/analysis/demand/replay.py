"""A house's past, forecast again week by week from what was known before each: what the spread is measured on.

Measuring for one day and testing that on many days before it ask for the same weeks again and again: each is forecast
once.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Final

import numpy as np

from stillroom.analysis.demand.forecast import Forecast
from stillroom.analysis.demand.levels import WEEK, levels
from stillroom.analysis.demand.mixing import Mixing
from stillroom.analysis.demand.sales_history import Ahead, History
from stillroom.analysis.demand.spread import Forecasted, assumed_spread, measured_spread
from stillroom.analysis.demand.ways import Means

ORIGINS: Final = 16
"""Weeks looked back on, at most, to measure the spread."""
LEAST_DAYS: Final = 21
"""Days of history before the past can be used to measure."""


@dataclass(frozen=True, kw_only=True)
class PastWeek:
    """A week of the past: what was known before it, its days with the menu they had, and what was served on them."""

    before: History
    ahead: Ahead
    serves: np.ndarray
    """Days by drinks; NaN where not on the menu."""


class Replay:
    """A history, and forecasts of its weeks."""

    def __init__(self, history: History) -> None:
        """Nothing is forecast before it is asked for."""
        self.history = history
        self._weeks: dict[tuple[int, Means | None], Forecasted] = {}

    @cached_property
    def mixing(self) -> Mixing:
        """The pooled model, for any origin."""
        return Mixing(self.history, levels(self.history))

    def week(self, cut: int, length: int = WEEK) -> PastWeek:
        """The week, or another length of days, after the first `cut` days."""
        history = self.history
        serves, events = history.serves[cut : cut + length], history.events[cut : cut + length]
        days = tuple(history.day(cut + number) for number in range(len(serves)))
        ahead = Ahead(days=days, on_menu=~np.isnan(serves), events=events)
        return PastWeek(before=history.until(cut), ahead=ahead, serves=serves)

    def forecast(self, upto: int, ahead: Ahead, means: Means | None = None) -> Forecast:
        """Forecast the days ahead from the first `upto` days, by the way given or the pooled model."""
        spread = measured_spread([self._forecasted(cut, means) for cut in _origins(upto)])
        expected, unsure = self._expected(upto, ahead, means)
        return Forecast(
            ahead=ahead,
            drinks=self.history.drinks,
            means=expected,
            spread=spread or assumed_spread(len(self.history.drinks)),
            unsure=unsure,
            assumed=spread is None,
        )

    def _forecasted(self, cut: int, means: Means | None) -> Forecasted:
        if (cut, means) not in self._weeks:
            week = self.week(cut)
            expected, unsure = self._expected(cut, week.ahead, means)
            self._weeks[cut, means] = Forecasted(serves=week.serves, means=expected, unsure=unsure)
        return self._weeks[cut, means]

    def _expected(self, cut: int, ahead: Ahead, means: Means | None) -> tuple[np.ndarray, np.ndarray]:
        """Expected serves, and how unsure each drink's expectation is."""
        known = self.history.until(cut)
        expected, apart = (means(known, ahead), 0.0) if means else self.mixing.expected(cut, ahead)
        return expected, (1 + _unsure(known, expected)) * (1 + apart) - 1


def forecast(history: History, ahead: Ahead, means: Means | None = None) -> Forecast:
    """Forecast the days ahead from the whole history, by the way given or the pooled model."""
    return Replay(history).forecast(history.days, ahead, means)


def _origins(upto: int) -> list[int]:
    """The days after which the last weeks of the first `upto` days begin: where a forecast could have been made."""
    if upto < 3 * WEEK:
        return []
    cuts = [upto - back * WEEK for back in range(ORIGINS, 0, -1)]
    return [cut for cut in cuts if cut >= LEAST_DAYS - WEEK]


def _unsure(history: History, expected: np.ndarray) -> np.ndarray:
    """How little is known of each drink: of a gamma posterior, whose prior is as wide as the drinks are unlike."""
    week = expected.sum(axis=0)
    there = week[week > 0]
    unlike = there.var() / there.mean() ** 2 if len(there) > 1 else 1.0
    return np.asarray(unlike / (1 + unlike * np.nansum(history.serves, axis=0)))
