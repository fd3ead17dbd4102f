"""What will be sold: serves of every drink on the days to come, as whole distributions.

The expectation is that of one of the `ways`; how fast the pooled one forgets is chosen on the house's own past. Counts
are negative binomial: what varies beyond chance is split by method of moments, on forecasts made in the past, into what
all drinks share on a day, what stays wrong for a week, and each drink's own.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from stillroom.analysis.demand.sales_history import Ahead, History
from stillroom.analysis.demand.ways import WEEK, Means, pooled_means

LEVEL_HALF_LIVES: Final = (14.0, 28.0, 1000.0)
SHARE_HALF_LIVES: Final = (28.0, 84.0, 1000.0)
"""Days, open or not, after which a day counts half."""
INNER_ORIGINS: Final = 6
LEAST_DAYS: Final = 21
"""Days of history before the past can be used to choose and to measure."""


@dataclass(frozen=True, kw_only=True)
class Spread:
    """Squared coefficients of variation beyond Poisson."""

    house_day: float = 0.04
    house_week: float = 0.01
    drink_day: float = 0.04
    drink_week: float = 0.04

    @property
    def day(self) -> float:
        """Of one drink on one day."""
        parts = (self.house_day, self.house_week, self.drink_day, self.drink_week)
        return float(np.prod([1 + part for part in parts]) - 1)


@dataclass(frozen=True, kw_only=True)
class Forecast:
    """Distribution of serves on the days ahead."""

    ahead: Ahead
    drinks: tuple[str, ...]
    means: np.ndarray
    """Days by drinks."""
    spread: Spread
    unsure: np.ndarray
    """For each drink, squared coefficient of variation of its expectation: much for a drink that is new."""
    assumed: bool
    """The spread is an assumption: the history is too short to measure it."""

    def quantile(self, probability: float) -> np.ndarray:
        """Quantile of the serves of each drink on each day (negative binomial)."""
        from scipy.stats import nbinom

        size = np.broadcast_to(self.size, self.means.shape)
        return np.asarray(np.where(self.means > 0, nbinom.ppf(probability, size, size / (size + self.means)), 0.0))

    @property
    def size(self) -> np.ndarray:
        """For each drink, what the negative binomial of a day takes as its size."""
        return np.asarray(1 / np.maximum((1 + self.spread.day) * (1 + self.unsure) - 1, 1e-9))

    def draws(self, number: int, seed: int) -> np.ndarray:
        """`number` draws of the serves, draws by days by drinks; days and drinks vary together as they did before."""
        generator = np.random.default_rng(seed)
        days, drinks = self.means.shape
        mean = np.broadcast_to(self.means, (number, days, drinks))
        for variance, shape in (
            (self.spread.house_week, (number, 1, 1)),
            (self.spread.house_day, (number, days, 1)),
            (self.spread.drink_week, (number, 1, drinks)),
            (self.spread.drink_day, (number, days, drinks)),
        ):
            if variance > 1e-9:
                mean = mean * generator.gamma(1 / variance, variance, size=shape)
        unsure = np.maximum(self.unsure, 1e-9)
        mean = mean * generator.gamma(1 / unsure, unsure, size=(number, 1, drinks))
        return generator.poisson(mean)


def forecast(history: History, ahead: Ahead, means: Means | None = None) -> Forecast:
    """Forecast the days ahead, by the pooled model with the half-lives that did best, or by the way given."""
    if means is None:
        means = best_pooled(history)
    spread = measured_spread(history, means)
    expected = means(history, ahead)
    return Forecast(
        ahead=ahead,
        drinks=history.drinks,
        means=expected,
        spread=spread or Spread(),
        unsure=_unsure(history, expected),
        assumed=spread is None,
    )


def _unsure(history: History, expected: np.ndarray) -> np.ndarray:
    """How little is known of each drink: of a gamma posterior, whose prior is as wide as the drinks are unlike."""
    week = expected.sum(axis=0)
    there = week[week > 0]
    unlike = there.var() / there.mean() ** 2 if len(there) > 1 else 1.0
    return np.asarray(unlike / (1 + unlike * np.nansum(history.serves, axis=0)))


def best_pooled(history: History) -> Means:
    """The pooled model whose half-lives had the least Poisson deviance over the last weeks of the history."""
    candidates = [(a, b) for a in LEVEL_HALF_LIVES for b in SHARE_HALF_LIVES]
    pieces = _origins(history)
    if not pieces:
        return pooled_means(28.0, 84.0)
    scored = [
        (sum(_deviance(after.serves, pooled_means(*pair)(before, ahead)) for before, after, ahead in pieces), pair)
        for pair in candidates
    ]
    return pooled_means(*min(scored)[1])


def measured_spread(history: History, means: Means) -> Spread | None:
    """Variation beyond Poisson of weekly forecasts made over the last weeks; None where the history is too short."""
    pieces = [(after.serves, means(before, ahead)) for before, after, ahead in _origins(history)]
    if len(pieces) < 2:
        return None
    totals = [(np.nansum(y, axis=1)[:, None], np.where(np.isnan(y), 0, m).sum(axis=1)[:, None]) for y, m in pieces]
    drinks = [(y, np.where(np.isnan(y), 0, m)) for y, m in pieces]
    house_day, house_week = _day_and_week(totals)
    all_day, all_week = _day_and_week(drinks)
    return Spread(
        house_day=house_day,
        house_week=house_week,
        drink_day=max(0.0, (1 + all_day) / (1 + house_day) - 1),
        drink_week=max(0.0, (1 + all_week) / (1 + house_week) - 1),
    )


def _origins(history: History) -> list[tuple[History, History, Ahead]]:
    """The last weeks of the history, each with what came before: where a forecast could have been made."""
    last = history.days // WEEK
    pieces = []
    for back in range(INNER_ORIGINS, 0, -1):
        cut = history.days - back * WEEK
        if last >= 3 and cut >= LEAST_DAYS - WEEK:
            pieces.append(week_after(history, cut))
    return pieces


def week_after(history: History, cut: int) -> tuple[History, History, Ahead]:
    """The history up to `cut` days, the week after, and that week as days ahead with the menu as it then was."""
    after = History(
        first=history.day(cut),
        drinks=history.drinks,
        serves=history.serves[cut : cut + WEEK],
        events=history.events[cut : cut + WEEK],
    )
    days = tuple(history.day(cut + number) for number in range(after.days))
    return history.until(cut), after, Ahead(days=days, on_menu=~np.isnan(after.serves), events=after.events)


def _day_and_week(pieces: list[tuple[np.ndarray, np.ndarray]]) -> tuple[float, float]:
    """Variation beyond Poisson that is new each day, and that stays for the week, from forecasts of weeks.

    By method of moments: of a week's sum, the daily part averages out and the lasting part does not.
    """
    errors, squares, week_errors, week_squares = 0.0, 0.0, 0.0, 0.0
    for serves, mean in pieces:
        known = ~np.isnan(serves)
        y, m = np.where(known, serves, 0.0), np.where(known, mean, 0.0)
        errors += float(((y - m) ** 2 - m).sum())
        squares += float((m**2).sum())
        week_errors += float(((y.sum(axis=0) - m.sum(axis=0)) ** 2 - m.sum(axis=0)).sum())
        week_squares += float((m.sum(axis=0) ** 2).sum())
    if squares <= 0 or week_squares <= 0:
        return 0.0, 0.0
    of_day, of_week = max(0.0, errors / squares), max(0.0, week_errors / week_squares)
    averaged = squares / week_squares
    lasting = min(of_day, max(0.0, (of_week - averaged * of_day) / (1 - averaged))) if averaged < 1 else of_week
    return max(0.0, (1 + of_day) / (1 + lasting) - 1), lasting


def _deviance(serves: np.ndarray, mean: np.ndarray) -> float:
    known = ~np.isnan(serves)
    y, m = serves[known], np.maximum(mean[known], 1e-3)
    return float(2 * (np.where(y > 0, y * np.log(np.maximum(y, 1e-9) / m), 0.0) - (y - m)).sum())
