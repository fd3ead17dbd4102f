"""A house's past, forecast again week by week from what was known before each: chooses the model, measures the spread.

Choosing for one day and testing that choice on many days before it ask for the same weeks again and again: each is
forecast once.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import product
from typing import Final

import numpy as np

from stillroom.analysis.demand.forecast import Forecast
from stillroom.analysis.demand.sales_history import Ahead, History
from stillroom.analysis.demand.spread import Spread, measured_spread
from stillroom.analysis.demand.ways import WEEK, Means, pooled_means

LEVEL_HALF_LIVES: Final = (14.0, 28.0, 1000.0)
SHARE_HALF_LIVES: Final = (28.0, 84.0, 1000.0)
"""Days, open or not, after which a day counts half."""
CANDIDATES: Final = tuple(pooled_means(*pair) for pair in product(LEVEL_HALF_LIVES, SHARE_HALF_LIVES))
UNTRIED: Final = pooled_means(28.0, 84.0)
"""What is used while there is no past to choose by."""
INNER_ORIGINS: Final = 6
LEAST_DAYS: Final = 21
"""Days of history before the past can be used to choose and to measure."""


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
        self._means: dict[tuple[int, Means], np.ndarray] = {}
        self._best: dict[int, Means] = {}

    def week(self, cut: int) -> PastWeek:
        """The week after the first `cut` days."""
        history = self.history
        serves, events = history.serves[cut : cut + WEEK], history.events[cut : cut + WEEK]
        days = tuple(history.day(cut + number) for number in range(len(serves)))
        ahead = Ahead(days=days, on_menu=~np.isnan(serves), events=events)
        return PastWeek(before=history.until(cut), ahead=ahead, serves=serves)

    def best_pooled(self, upto: int) -> Means:
        """The pooled model that had the least Poisson deviance over the last weeks of the first `upto` days."""
        if upto not in self._best:
            cuts = _origins(upto)
            loss = [
                sum(_deviance(self.week(cut).serves, self._forecast(cut, way)) for cut in cuts) for way in CANDIDATES
            ]
            self._best[upto] = CANDIDATES[int(np.argmin(loss))] if cuts else UNTRIED
        return self._best[upto]

    def forecast(self, upto: int, ahead: Ahead, means: Means | None = None) -> Forecast:
        """Forecast the days ahead from the first `upto` days, by the way given or the pooled model that did best."""
        means = means or self.best_pooled(upto)
        known = self.history.until(upto)
        spread = measured_spread([(self.week(cut).serves, self._forecast(cut, means)) for cut in _origins(upto)])
        expected = means(known, ahead)
        return Forecast(
            ahead=ahead,
            drinks=known.drinks,
            means=expected,
            spread=spread or Spread(),
            unsure=_unsure(known, expected),
            assumed=spread is None,
        )

    def _forecast(self, cut: int, means: Means) -> np.ndarray:
        if (cut, means) not in self._means:
            week = self.week(cut)
            self._means[cut, means] = means(week.before, week.ahead)
        return self._means[cut, means]


def forecast(history: History, ahead: Ahead, means: Means | None = None) -> Forecast:
    """Forecast the days ahead from the whole history, by the way given or the pooled model that did best."""
    return Replay(history).forecast(history.days, ahead, means)


def _origins(upto: int) -> list[int]:
    """The days after which the last weeks of the first `upto` days begin: where a forecast could have been made."""
    if upto < 3 * WEEK:
        return []
    cuts = [upto - back * WEEK for back in range(INNER_ORIGINS, 0, -1)]
    return [cut for cut in cuts if cut >= LEAST_DAYS - WEEK]


def _unsure(history: History, expected: np.ndarray) -> np.ndarray:
    """How little is known of each drink: of a gamma posterior, whose prior is as wide as the drinks are unlike."""
    week = expected.sum(axis=0)
    there = week[week > 0]
    unlike = there.var() / there.mean() ** 2 if len(there) > 1 else 1.0
    return np.asarray(unlike / (1 + unlike * np.nansum(history.serves, axis=0)))


def _deviance(serves: np.ndarray, mean: np.ndarray) -> float:
    known = ~np.isnan(serves)
    y, m = serves[known], np.maximum(mean[known], 1e-3)
    return float(2 * (np.where(y > 0, y * np.log(np.maximum(y, 1e-9) / m), 0.0) - (y - m)).sum())
