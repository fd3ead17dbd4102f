"""What will be sold: serves of every drink on the days to come, as whole distributions.

The expectation is the pooled model's (`levels`, `mixing`) or that of one of the plain `ways`. Counts are negative
binomial: what varies beyond chance is measured for each drink on forecasts made in the past; what all drinks share on a
day, and what stays wrong for a week, is told from it by method of moments.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from stillroom.analysis import negative_binomial
from stillroom.analysis.demand.sales_history import Ahead
from stillroom.analysis.demand.spread import Spread


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
        size = np.broadcast_to(self.size, self.means.shape)
        return np.asarray(
            np.where(self.means > 0, negative_binomial.quantile(probability, size, size / (size + self.means)), 0.0)
        )

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
            part = np.maximum(variance, 1e-9)
            mean = mean * generator.gamma(1 / part, part, size=shape)
        unsure = np.maximum(self.unsure, 1e-9)
        mean = mean * generator.gamma(1 / unsure, unsure, size=(number, 1, drinks))
        return generator.poisson(mean)
