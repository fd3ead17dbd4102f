"""Special functions on the way of every prep list: SciPy's take longer to import than a day's list to be drawn up."""

from __future__ import annotations

from functools import cache
from math import erfc, factorial
from typing import Final

import numpy as np

SHIFT: Final = 10
"""What is added to smaller numbers, so that Stirling's series is exact but for the last digits."""
STIRLING: Final = (1 / 12, -1 / 360, 1 / 1260, -1 / 1680, 1 / 1188)
"""Its terms: DLMF 5.11.1, with the Bernoulli numbers of 24.2 (from memory)."""
CERTAIN: Final = 8.5
"""Standard deviations beyond which the probability is 0 or 1 to all digits that count."""
POINTS: Final = 64
"""Points a standard deviation around which the normal's series are: five terms are exact to all digits that count."""


def log_gamma(x: np.ndarray) -> np.ndarray:
    """Logarithm of the gamma function of numbers above 0: Stirling's series, and the recurrence (DLMF 5.5.1) below 10.

    >>> log_gamma(np.array([1.0, 5.0])).round(12).tolist()
    [0.0, 3.178053830348]
    """
    low = x < SHIFT
    shifted = np.where(low, x + SHIFT, x)
    inverse = 1 / shifted
    series = np.polynomial.polynomial.polyval(inverse * inverse, STIRLING) * inverse
    found = (shifted - 0.5) * np.log(shifted) - shifted + 0.5 * np.log(2 * np.pi) + series
    small = x[low]
    below = np.ones_like(small)
    for step in range(SHIFT):
        below *= small + step
    found[low] -= np.log(below)
    return np.asarray(found)


def normal_below(x: np.ndarray) -> np.ndarray:
    """Probability that a standard normal number is below x: Taylor's series around the nearest of many points.

    >>> normal_below(np.array([0.0, -20.0, 20.0])).round(15).tolist()
    [0.5, 0.0, 1.0]
    """
    x = np.clip(x, -CERTAIN, CERTAIN)
    place = np.rint((x + CERTAIN) * POINTS).astype(np.intp)
    series = [terms[place] for terms in _around_points()]
    d = x - (place / POINTS - CERTAIN)
    found = series[-1]
    for terms in reversed(series[:-1]):
        found = found * d + terms
    return np.asarray(found)


@cache
def _around_points() -> tuple[np.ndarray, ...]:
    """At each point, the terms of the series: the probability, and the density times Hermite's polynomials."""
    at = np.arange(2 * CERTAIN * POINTS + 1) / POINTS - CERTAIN
    below = np.array([0.5 * erfc(one) for one in (at * -np.sqrt(0.5)).tolist()])
    density = np.exp(-at * at / 2) / np.sqrt(2 * np.pi)
    hermite = (1.0, -at, at**2 - 1, 3 * at - at**3, at**4 - 6 * at**2 + 3)
    return (below, *(density * one / factorial(n) for n, one in enumerate(hermite, 1)))
