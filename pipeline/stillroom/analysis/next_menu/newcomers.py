"""How a drink that is new to the house sells: a range, from how the house's own new drinks sold in their first season.

A new drink's level is told beside the mean drink of its menu, so that the size of the house, the weekday and the time
of year drop out. The levels of the new drinks there were are taken as log-normal, with a weak prior for how far they
scatter; what the next one sells follows Student's t, which says how little a few of them tell (predictive distribution
of a normal sample with a scaled inverse chi-squared prior; Gelman et al., Bayesian Data Analysis, 3rd ed. 2013, 3.2 and
3.3, from memory).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from stillroom.analysis.demand.levels import WEEK
from stillroom.analysis.demand.sales_history import History
from stillroom.analysis.next_menu.assumption import Unsure

FIRST_SEASON: Final = 13 * WEEK
LEAST_DAYS: Final = 2 * WEEK
"""Days on the menu, and before it in the data, for a drink to count as a new one that says something."""
FEWEST: Final = 3
"""New drinks needed; with fewer, all drinks of the house stand in: a new one may sell like any of them."""
SLOWEST: Final = 0.02
"""Of the mean drink: what sells less is taken to sell this."""
UNTOLD: Final = 0.5
"""Standard deviation of log levels beforehand: a judgement, no source."""
BEFOREHAND: Final = 4.0
"""Degrees of freedom that it counts for."""


@dataclass(frozen=True, kw_only=True)
class Newcomer(Unsure):
    """How much a new drink may sell, as a factor of the mean drink on the menu."""

    middle: float
    """Mean of the logarithms."""
    scatter: float
    """Their standard deviation, with what a few drinks leave open."""
    degrees: float
    drinks: tuple[str, ...]
    """What it rests on."""
    own: bool
    """These were new drinks; else all drinks of the house."""

    def quantile(self, p: np.ndarray | float) -> np.ndarray:
        """Quantiles of the factor."""
        from scipy.special import stdtrit

        return np.asarray(np.exp(self.middle + self.scatter * stdtrit(self.degrees, p)))

    def draws(self, number: int, generator: np.random.Generator) -> np.ndarray:
        """Factors evenly spread over the distribution but for its last hundredths, in random order."""
        p = (np.arange(number) + 0.5) / number
        return self.quantile(generator.permutation(np.clip(p, 0.02, 0.98)))


def newcomer(histories: Sequence[History]) -> Newcomer:
    """What the next new drink may sell beside the mean drink, from all venues' histories."""
    new, every = dict[str, float](), dict[str, float]()
    for history in histories:
        begins = _first_open(history)
        for place, name in enumerate(history.drinks):
            level, since = _level(history, place)
            if level is None:
                continue
            every[name] = level
            if since - begins >= LEAST_DAYS:
                new[name] = level
    own = len(new) >= FEWEST
    chosen = new if own else every
    logs = np.log(np.maximum(list(chosen.values()), SLOWEST))
    count = len(logs)
    middle = float(logs.mean()) if count else 0.0
    degrees = BEFOREHAND + max(count - 1, 0)
    variance = (BEFOREHAND * UNTOLD**2 + float(((logs - middle) ** 2).sum())) / degrees
    scatter = (variance * (1 + 1 / max(count, 1))) ** 0.5
    return Newcomer(middle=middle, scatter=scatter, degrees=degrees, drinks=tuple(chosen), own=own)


def _first_open(history: History) -> int:
    open_days = np.flatnonzero(~np.isnan(history.serves).all(axis=1))
    return int(open_days[0]) if len(open_days) else 0


def _level(history: History, place: int) -> tuple[float | None, int]:
    """A drink's serves in its first season over those of the mean other drink on the same days; its first day."""
    on = np.flatnonzero(~np.isnan(history.serves[:, place]))
    if not len(on):
        return None, 0
    since = int(on[0])
    days = on[on < since + FIRST_SEASON]
    others = np.delete(history.serves[days], place, axis=1)
    if len(days) < LEAST_DAYS or not others.size:
        return None, since
    count = np.maximum((~np.isnan(others)).sum(axis=1), 1)
    mean = float((np.nansum(others, axis=1) / count).sum())
    own = float(history.serves[days, place].sum())
    return (own / mean if mean > 0 else None), since
