"""How far serves stray from what was expected beyond chance, measured on forecasts of weeks that have passed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Final

import numpy as np

from stillroom.analysis.special import log_gamma

GRID: Final = np.array([0.001, 0.005, 0.01, 0.02, 0.04, 0.07, 0.12, 0.2, 0.35, 0.6, 1.0, 1.8, 3.0, 6.0])
"""Squared coefficients of variation, beyond Poisson, that a drink's day may have."""
ASSUMED: Final = 0.14
"""The same while there is no past to measure it by."""
MEMORY: Final = 12.0
"""Weeks after which an error counts half."""
TRUST: Final = 0.5
"""Part of the log-likelihood that counts: the days of a week share their luck."""
ROUNDS: Final = 20


@dataclass(frozen=True, kw_only=True)
class Spread:
    """Squared coefficients of variation beyond Poisson."""

    day: np.ndarray
    """Of each drink on one day, all in all."""
    house_day: float = 0.04
    """The part of it that all drinks share on a day."""
    house_week: float = 0.01
    """The part that they share for the week."""
    drink_week: float = 0.04
    """The part that stays with a drink for the week."""

    @property
    def drink_day(self) -> np.ndarray:
        """What is left for each drink on each day by itself."""
        shared = (1 + self.house_day) * (1 + self.house_week) * (1 + self.drink_week)
        return np.asarray(np.maximum((1 + self.day) / shared - 1, 0.0))


@dataclass(frozen=True, kw_only=True)
class Forecasted:
    """A week that has passed, and what had been forecast for it."""

    serves: np.ndarray
    """Days by drinks; NaN where not on the menu."""
    means: np.ndarray
    unsure: np.ndarray
    """For each drink, squared coefficient of variation of its expectation."""

    @cached_property
    def likelihoods(self) -> np.ndarray:
        """Log-likelihood of each spread of the `GRID` for each drink (negative binomial), but for what all share."""
        there = ~np.isnan(self.serves) & (self.means > 0)
        y, m = np.where(there, self.serves, 0.0), np.where(there, self.means, 1.0)
        size = 1 / ((1 + GRID[:, None]) * (1 + self.unsure) - 1)[:, None, :]
        each = log_gamma(y + size) - log_gamma(size) + size * np.log(size / (size + m)) + y * np.log(m / (size + m))
        return np.asarray(np.where(there, each, 0.0).sum(axis=1))


def assumed_spread(drinks: int) -> Spread:
    """What is assumed while there is no past to measure it by."""
    return Spread(day=np.full(drinks, ASSUMED))


def measured_spread(weeks: Sequence[Forecasted]) -> Spread | None:
    """Variation beyond Poisson; None with fewer than two weeks.

    Each drink has a spread of its own, drawn towards what is usual in the house (empirical Bayes on a grid: negative
    binomial likelihood of every spread, with weights common to all drinks found by EM).

    Args:
        weeks: the last weeks, oldest first.
    """
    if len(weeks) < 2:
        return None
    known = [(week.serves, np.where(np.isnan(week.serves), 0, week.means)) for week in weeks]
    totals = [(np.nansum(y, axis=1)[:, None], m.sum(axis=1)[:, None]) for y, m in known]
    house_day, house_week = _day_and_week(totals)
    _, all_week = _day_and_week(known)
    return Spread(
        day=_of_each_drink(weeks),
        house_day=house_day,
        house_week=house_week,
        drink_week=max(0.0, (1 + all_week) / (1 + house_week) - 1),
    )


def _of_each_drink(weeks: Sequence[Forecasted]) -> np.ndarray:
    """Posterior mean of each drink's squared coefficient of variation."""
    score = np.zeros((len(GRID), weeks[0].serves.shape[1]))
    for back, week in enumerate(reversed(weeks)):
        score += TRUST * 0.5 ** (back / MEMORY) * week.likelihoods
    common = np.full(len(GRID), 1 / len(GRID))
    score = np.exp(score - score.max(axis=0))
    for _ in range(ROUNDS):
        weights = score * common[:, None]
        weights /= weights.sum(axis=0)
        common = (weights.sum(axis=1) + 1 / len(GRID)) / (weights.shape[1] + 1)
    return np.asarray(GRID @ weights)


def _day_and_week(weeks: Sequence[tuple[np.ndarray, np.ndarray]]) -> tuple[float, float]:
    """Variation beyond Poisson that is new each day, and that stays for the week, from forecasts of weeks.

    By method of moments: of a week's sum, the daily part averages out and the lasting part does not.
    """
    errors, squares, week_errors, week_squares = 0.0, 0.0, 0.0, 0.0
    for serves, mean in weeks:
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
