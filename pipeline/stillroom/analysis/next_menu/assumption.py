"""A figure that nobody knows for sure: a range, narrowed by the house's own data as far as they say anything."""

from __future__ import annotations

from abc import ABC, abstractmethod
from dataclasses import dataclass
from typing import Final

import numpy as np

LOW: Final = 0.1
HIGH: Final = 0.9
"""The ends that are told: 8 times in 10 it lies between them."""
NARROWED: Final = 0.7
"""The data say something where what is left is narrower than this part of the range."""


class Unsure(ABC):
    """A figure of which only the distribution is known."""

    @abstractmethod
    def quantile(self, p: np.ndarray | float) -> np.ndarray:
        """Its quantiles."""

    @property
    def low(self) -> float:
        """8 times in 10 it is not below this, as often as not above `high`."""
        return float(self.quantile(LOW))

    @property
    def high(self) -> float:
        """The other end."""
        return float(self.quantile(HIGH))


@dataclass(frozen=True, kw_only=True)
class Assumption(Unsure):
    """A range in which all is equally likely beforehand, and what the data say of it, if anything.

    The posterior of a uniform prior on the range with a normal likelihood is the normal cut off at both ends
    (Gelman et al., Bayesian Data Analysis, 3rd ed. 2013, ch. 2, from memory).
    """

    least: float
    most: float
    estimate: float | None = None
    error: float | None = None
    """The data's own estimate, with its standard error; None where there are none."""
    cases: int = 0
    """What the estimate rests on."""

    def quantile(self, p: np.ndarray | float) -> np.ndarray:
        """Its quantiles.

        >>> Assumption(least=0.0, most=1.0).quantile(0.1).item()
        0.1
        """
        p = np.asarray(p, dtype=float)
        if self.most <= self.least:
            return np.full(p.shape, self.least)
        if self.estimate is None or self.error is None:
            return self.least + (self.most - self.least) * p
        ends = (np.array([self.least, self.most]) - self.estimate) / self.error
        return np.clip(self.estimate + self.error * cut_normal(p, *ends), self.least, self.most)

    @property
    def stated(self) -> bool:
        """It is one figure that somebody stated."""
        return self.most <= self.least

    @property
    def narrowed(self) -> bool:
        """Whether the data say anything."""
        return not self.stated and self.high - self.low < NARROWED * (HIGH - LOW) * (self.most - self.least)

    def draws(self, number: int, generator: np.random.Generator) -> np.ndarray:
        """Values evenly spread over its distribution, in random order."""
        return self.quantile(generator.permutation((np.arange(number) + 0.5) / number))


def cut_normal(p: np.ndarray, low: float, high: float) -> np.ndarray:
    """Quantiles of the standard normal cut off at both ends, in logarithms, so that far tails hold, too.

    >>> cut_normal(np.array([0.0, 0.5, 1.0]), -1.0, 1.0).round(9).tolist()
    [-1.0, 0.0, 1.0]
    """
    from scipy.special import log_ndtr, ndtri_exp

    with np.errstate(divide="ignore"):
        from_low, from_high = np.log(p), np.log1p(-p)
    if low < 0:
        return np.asarray(ndtri_exp(np.logaddexp(log_ndtr(low) + from_high, log_ndtr(high) + from_low)))
    return -np.asarray(ndtri_exp(np.logaddexp(log_ndtr(-high) + from_low, log_ndtr(-low) + from_high)))


def pooled(least: float, most: float, estimates: list[tuple[float, float]]) -> Assumption:
    """The assumption that several estimates with their errors leave: each weighs by its precision.

    >>> pooled(0.0, 1.0, [(0.4, 0.1), (0.6, 0.1)]).estimate
    0.5
    """
    if not estimates:
        return Assumption(least=least, most=most)
    weights = np.array([error**-2.0 for _, error in estimates])
    mean = float(weights @ np.array([value for value, _ in estimates]) / weights.sum())
    return Assumption(least=least, most=most, estimate=mean, error=float(weights.sum() ** -0.5), cases=len(estimates))
