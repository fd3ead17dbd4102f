"""The negative binomial distribution of counts, with a size that need not be whole.

Of counts that are not many it is summed up, count by count; for others SciPy has the special functions, which take as
long to import as a day's list takes to draw up.
"""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

Numbers = NDArray[np.float64]

MOST: Final = 2**20
"""Probabilities that are summed up at a time."""
LEAST: Final = -600.0
"""Logarithm of the probability of no count at all: where it is smaller, sums that begin with it are not exact."""


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
    counts, sizes, chances = np.broadcast_arrays(np.asarray(count, dtype=float), size, chance)
    summed = _summed(sizes, chances, np.max(counts, initial=0))
    if summed is not None:
        found = np.take_along_axis(summed, np.maximum(counts, 0).astype(np.intp)[..., None], axis=-1)[..., 0]
    else:
        from scipy import special

        found = np.asarray(special.betainc(size, np.maximum(counts, 0) + 1, chance), dtype=float)
    return np.where(counts < 0, 0.0, found)


def quantile(probability: Numbers | float, size: Numbers | float, chance: Numbers | float) -> Numbers:
    """The least count whose cumulative probability is at least `probability` (between 0 and 1).

    >>> quantile(np.array([0.25, 0.26, 0.5]), 2, 0.5).tolist()
    [0.0, 1.0, 1.0]
    """
    wanted, sizes, chances = np.broadcast_arrays(np.asarray(probability, dtype=float), size, chance)
    summed = _summed(sizes, chances, np.max(_not_below(wanted, sizes, chances), initial=0))
    if summed is not None:
        return np.asarray((summed < wanted[..., None]).sum(axis=-1), dtype=float)
    from scipy import special

    # The inverse is exact but for its last digits, which decide between two neighbours.
    near = np.ceil(np.maximum(special.nbdtrik(probability, size, chance), 0))
    near = np.where(cumulative(near, size, chance) < probability, near + 1, near)
    return np.where(cumulative(near - 1, size, chance) >= probability, near - 1, near)


def _not_below(probability: Numbers, size: Numbers, chance: Numbers) -> Numbers:
    """What no quantile is above: by Cantelli's inequality, of the mean and the variance."""
    mean = size * (1 - chance) / chance
    with np.errstate(divide="ignore"):
        return np.asarray(mean + np.sqrt(probability / (1 - probability) * mean / chance))


def _summed(size: Numbers, chance: Numbers, top: float) -> Numbers | None:
    """Probabilities of at most 0, 1 ... `top`, along a last axis; None where SciPy is quicker, or exact where they are
    not.
    """
    if not size.size * (top + 2) <= MOST:
        return None
    none = size * np.log(chance)
    if np.min(none, initial=0) < LEAST:
        return None
    counts = np.arange(int(np.ceil(top)))
    # Each probability by the one before: (count + size) / (count + 1) x (1 - chance).
    steps = (counts + size[..., None]) / (counts + 1) * (1 - chance[..., None])
    first = np.exp(none)[..., None]
    each = np.concatenate([first, first * np.cumprod(steps, axis=-1)], axis=-1)
    return np.asarray(np.minimum(each.cumsum(axis=-1), 1.0))
