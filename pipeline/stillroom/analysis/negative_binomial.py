"""The negative binomial distribution of counts, with a size that need not be whole.

From the special functions of SciPy alone: its whole statistics take as long to import as a day's list takes to draw up.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Numbers = NDArray[np.float64]


def cumulative(count: Numbers | float, size: Numbers | float, chance: Numbers | float) -> Numbers:
    """Probability of at most `count`: the regularised incomplete beta function I_chance(size, count + 1).

    Source: NIST Digital Library of Mathematical Functions, 8.17(vii) (the case of whole sizes, from memory).

    Args:
        count: whole; below 0 the probability is 0.
        size: above 0; the variance is mean + mean^2 / size.
        chance: size / (size + mean).

    >>> float(cumulative(0, 2, 0.5))
    0.25
    """
    from scipy import special

    counts = np.asarray(count, dtype=float)
    return np.where(counts < 0, 0.0, special.betainc(size, np.maximum(counts, 0) + 1, chance))


def quantile(probability: Numbers | float, size: Numbers | float, chance: Numbers | float) -> Numbers:
    """The least count whose cumulative probability is at least `probability` (between 0 and 1).

    >>> quantile(np.array([0.25, 0.26, 0.5]), 2, 0.5).tolist()
    [0.0, 1.0, 1.0]
    """
    from scipy import special

    # The inverse is exact but for its last digits, which decide between two neighbours.
    near = np.ceil(np.maximum(special.nbdtrik(probability, size, chance), 0))
    near = np.where(cumulative(near, size, chance) < probability, near + 1, near)
    return np.where(cumulative(near - 1, size, chance) >= probability, near - 1, near)
