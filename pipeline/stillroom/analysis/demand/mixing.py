"""Which memory fits which drink: every way to combine house and share, weighted by how it forecast this drink so far.

Each of the ways of `levels` (a half-life, or a trend) for the house goes with each for the share. A way's score is its
negative binomial log-likelihood on past days, forecast one, four and seven days before; what is long past counts less
(dynamic model averaging; Raftery, Karny & Ettler 2010). The weights of a drink start from those of all drinks of the
house (empirical Bayes: a finite mixture whose mixing shares are found by EM; Dempster, Laird & Rubin 1977), so that a
drink with few sales goes by what holds for the house.
"""

from __future__ import annotations

from typing import Final

import numpy as np

from stillroom.analysis.demand.levels import ADDED, MIDDLE, WEEK, Levels, damped
from stillroom.analysis.demand.sales_history import Ahead, History

LAGS: Final = (1, 4, 7)
"""Days before at which a day's forecasts are scored."""
SCORED: Final = 280
"""Days back that are scored, at most."""
MEMORY: Final = 5.0
"""Weeks after which a score counts half."""
TRUST: Final = 1.5
"""Part of the log-likelihood that counts: days share their luck, so they say less than as many independent ones."""
USUAL: Final = 0.1
"""Squared coefficient of variation of a day beyond Poisson that each drink starts from, as some 20 days' worth."""
BEFOREHAND: Final = np.array([0.03, 0.06, 0.14, 0.25, 0.25, 0.15, 0.04, 0.04, 0.04])
"""How likely each way of `levels` is before anything is known: what lasts is likelier than what moves."""
BEFOREHAND_DRINKS: Final = 2.0
"""How many drinks' worth of weight that has."""
ROUNDS: Final = 15


class Mixing:
    """The scores of all ways, and the forecasts that follow from them."""

    def __init__(self, history: History, known: Levels) -> None:
        self.history = history
        self.levels = known
        self.scores = self._daily_scores()
        self._weights: dict[int, np.ndarray] = {}

    def expected(self, cut: int, ahead: Ahead) -> tuple[np.ndarray, np.ndarray]:
        """Expected serves from the first `cut` days, days by drinks, and how far the ways are apart about them.

        Returns:
            means; for each drink, the squared coefficient of variation of the ways' expectations.
        """
        weights = self.weights(cut)
        steps = np.array([(day - self.history.day(cut)).days + 1 for day in ahead.days], dtype=float)
        means = np.zeros(ahead.on_menu.shape)
        squares = np.zeros(ahead.on_menu.shape)
        for place, (day, step) in enumerate(zip(ahead.days, steps, strict=True)):
            house, share = self._states(cut, step)
            there = ahead.on_menu[place]
            if not there.any():
                continue
            factor = self.levels.factor(cut, day.weekday(), ahead.events[place])
            factor *= self.levels.share[cut, MIDDLE][there].sum() ** ADDED
            wanted = share * self.levels.own[cut, day.weekday()] * there
            parts = wanted / wanted.sum(axis=1, keepdims=True)
            each = factor * house[:, None, None] * parts[None]
            means[place] = (weights * each).sum(axis=(0, 1))
            squares[place] = (weights * (each - means[place]) ** 2).sum(axis=(0, 1))
        total = (means**2).sum(axis=0)
        return means, np.divide(squares.sum(axis=0), total, out=np.zeros_like(total), where=total > 0)

    def weights(self, cut: int) -> np.ndarray:
        """House ways by share ways by drinks; for each drink they add up to 1."""
        if cut not in self._weights:
            self._weights[cut] = self._weighed(cut)
        return self._weights[cut]

    def _states(self, place: int, step: float) -> tuple[np.ndarray, np.ndarray]:
        ahead = damped(step)
        known = self.levels
        house = known.house[place] * np.exp(known.house_slope[place] * ahead)
        share = known.share[place] * np.exp(known.share_slope[place] * ahead)
        return house, share

    def _daily_scores(self) -> np.ndarray:
        """Days by house ways by share ways by drinks: log-likelihood, 0 where a drink was not on the menu."""
        history, known = self.history, self.levels
        first = max(WEEK, history.days - SCORED)
        days = np.arange(first, history.days)
        serves = history.serves[first:]
        there = ~np.isnan(serves)
        ways = known.house.shape[1]
        scores = np.zeros((history.days, ways, ways, serves.shape[1]), dtype=np.float32)
        if not len(days):
            return scores
        weekdays = history.weekdays[first:]
        factor = np.array([known.factor(int(day), int(history.weekdays[day]), history.events[day]) for day in days])
        menu = (known.share[days, MIDDLE] * there).sum(axis=1) ** ADDED
        own = known.own[days, weekdays] * there
        y = np.where(there, serves, 0.0).astype(np.float32)
        size = None
        for lag in LAGS:
            at = np.maximum(days - lag + 1, 0)
            ahead = damped(float(lag))
            house = np.log(np.maximum(known.house[at], 1e-6)) + known.house_slope[at] * ahead
            wanted = known.share[at] * np.exp(known.share_slope[at] * ahead) * own[:, None]
            whole = wanted.sum(axis=2, keepdims=True)
            parts = np.log(np.maximum(np.divide(wanted, whole, out=np.ones_like(wanted), where=whole > 0), 1e-9))
            base = house + np.log(np.maximum(factor * menu, 1e-9))[:, None]
            log_mean = (base[:, :, None, None] + parts[:, None]).astype(np.float32)
            if size is None:
                size = _sizes(y, np.exp(log_mean[:, MIDDLE, MIDDLE]), there)[:, None, None]
            mean = np.exp(np.minimum(log_mean, 15))
            found = y[:, None, None] * log_mean - (y[:, None, None] + size) * np.log(size + mean)
            scores[first:] += np.where(there[:, None, None], found, 0) / len(LAGS)
        return scores

    def _weighed(self, cut: int) -> np.ndarray:
        ways, drinks = self.scores.shape[1], self.scores.shape[3]
        first = max(0, cut - SCORED)
        fade = (0.5 ** ((cut - 1 - np.arange(first, cut)) / (WEEK * MEMORY))).astype(np.float32)
        summed = TRUST * np.tensordot(fade, self.scores[first:cut], axes=1).reshape(ways * ways, drinks)
        beforehand = np.outer(BEFOREHAND, BEFOREHAND).ravel()
        common, weights = beforehand, np.repeat(beforehand[:, None], drinks, axis=1)
        summed = np.exp(summed - summed.max(axis=0))
        for _ in range(ROUNDS):
            weights = summed * common[:, None]
            weights /= weights.sum(axis=0)
            common = (weights.sum(axis=1) + BEFOREHAND_DRINKS * beforehand) / (drinks + BEFOREHAND_DRINKS)
        return np.asarray(weights.reshape(ways, ways, drinks))


def _sizes(serves: np.ndarray, means: np.ndarray, there: np.ndarray) -> np.ndarray:
    """Days by drinks: the negative binomial size of each drink by its days before, by method of moments."""
    m = np.where(there, np.minimum(means, 1e6), 0.0)
    beyond = np.where(there, (serves - m) ** 2 - m, 0.0)
    squares = m**2
    start = 20 * squares.sum(axis=0) / np.maximum(there.sum(axis=0), 1) + 1e-9
    before = np.cumsum(beyond, axis=0) - beyond + USUAL * start
    found = before / (np.cumsum(squares, axis=0) - squares + start)
    return np.asarray(1 / np.clip(found, 0.01, 5.0), dtype=np.float32)
