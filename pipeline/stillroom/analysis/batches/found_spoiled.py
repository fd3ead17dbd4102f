"""Lives of which it is known between which two looks they ended: the day something is found is not the day it went.

Each life lies in (last known good, found], or ends after it was last seen good (found infinite). Without any model:
Turnbull's estimate; with one: a Weibull life, and limits for the day by which a part is gone.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

import numpy as np

SHAPES: Final = (0.5, 10.0)
"""Weibull shapes that are thought of: from batches that mostly go early, if they go, to all going within days of each
other. An assumption: few batches leave the shape open, and their limits then rest on these ends."""
SHAPE_STEPS: Final = 60
DAY_STEPS: Final = 120
MOST_HAZARD: Final = 700.0
"""Cumulative hazard beyond which nothing is left that a float could tell."""
LEAST_FOR_WEIBULL: Final = 5
TOLERANCE: Final = 1e-9
TRACE: Final = 1e-6
"""Of the lives: less in an interval is what the rounds have not yet taken out of it."""
MOST_ROUNDS: Final = 50_000


@dataclass(frozen=True, kw_only=True)
class Turnbull:
    """Where the lives ended, as far as can be told: the share of them in each of some intervals (after, upto]."""

    after: tuple[float, ...]
    upto: tuple[float, ...]
    share: tuple[float, ...]

    def good_after(self, day: float) -> float:
        """The share good after `day`, at least: what may have gone by then counts as gone."""
        gone = sum(share for after, share in zip(self.after, self.share, strict=True) if after < day)
        return max(0.0, 1.0 - gone)

    def day_by_which(self, part: float) -> float | None:
        """The day by which `part` has surely gone; None where that was not seen."""
        gone = np.cumsum(self.share)
        return next((day for day, so_far in zip(self.upto, gone, strict=True) if so_far >= part - 1e-6), None)


def turnbull(good: Sequence[float], found: Sequence[float]) -> Turnbull:
    """Nonparametric maximum likelihood of interval-censored lives.

    Turnbull 1976 (J. R. Stat. Soc. B 38:290): all mass lies in intervals between a `good` and the `found` that comes
    next, with no other between; their shares by his self-consistency algorithm. What follows the last look is not
    told.

    Args:
        good: last day on which each was known to be good.
        found: day on which it was found gone; infinite where it never was.

    >>> turnbull([0, 2, 3], [2, 4, float("inf")]).day_by_which(1 / 3)
    2.0
    """
    pairs, counts = np.unique(np.column_stack([good, found]).astype(float), axis=0, return_counts=True)
    left, right = pairs.T
    # In the order of days, and where they agree a `found` before a `good`, since the intervals are open on the left.
    ends = sorted([(day, 1) for day in np.unique(left)] + [(day, 0) for day in np.unique(right)])
    inner = [(one[0], two[0]) for one, two in pairwise(ends) if one[1] == 1 and two[1] == 0]
    after, upto = np.array(inner).T
    inside = (left[:, None] <= after) & (upto <= right[:, None])
    share = np.full(len(inner), 1 / len(inner))
    for _ in range(MOST_ROUNDS):
        of_each = inside * share
        better = counts @ (of_each / of_each.sum(axis=1, keepdims=True)) / counts.sum()
        done = np.abs(better - share).max() < TOLERANCE
        share = better
        if done:
            break
    seen = np.isfinite(upto) & (share > TRACE)
    return Turnbull(
        after=tuple(after[seen].tolist()), upto=tuple(upto[seen].tolist()), share=tuple(share[seen].tolist())
    )


@dataclass(frozen=True, kw_only=True)
class WeibullLife:
    """A Weibull life by maximum likelihood."""

    shape: float
    scale: float
    """Days by which 63.2 % have spoiled."""

    def day_by_which(self, part: float) -> float:
        """Day by which `part` has spoiled: scale (-ln(1 - part))^(1/shape)."""
        return float(self.scale * (-np.log1p(-part)) ** (1 / self.shape))


def weibull_life(good: Sequence[float], found: Sequence[float]) -> WeibullLife | None:
    """Fit a Weibull life by SciPy; None with fewer than `LEAST_FOR_WEIBULL` found spoiled, or all on one day.

    Args:
        good: last day on which each was known to be good.
        found: day on which it was found gone: infinite where it never was, equal to `good` where the day is exact.

    >>> weibull_life([2, 3, 5], [3, 4, float("inf")]) is None
    True
    """
    from scipy.stats import CensoredData, weibull_min

    left, right = np.asarray(good, dtype=float), np.asarray(found, dtype=float)
    gone, exact = np.isfinite(right), left == right
    if gone.sum() < LEAST_FOR_WEIBULL or len(set(right[gone])) < 2:
        return None
    data = CensoredData(
        uncensored=left[exact],
        interval=np.column_stack([left, right])[gone & ~exact],
        right=left[~gone & (left > 0)],
    )
    shape, _, scale = weibull_min.fit(data, floc=0)
    return WeibullLife(shape=float(shape), scale=float(scale))


@dataclass(frozen=True, kw_only=True)
class GoneBy:
    """The day by which a part of Weibull lives is gone: belief in it after some looks, on a grid of days."""

    days: np.ndarray
    believed: np.ndarray
    """Chance that the true day is no later."""

    def within(self, level: float) -> float:
        """The day that the true one comes before with this chance; its lower 80 % limit is `within(0.2)`."""
        return float(np.exp(np.interp(level, self.believed, np.log(self.days))))


def weibull_gone_by(good: Sequence[float], found: Sequence[float], part: float = 0.1) -> GoneBy:
    """The day by which `part` of the lives is gone, if they are Weibull: at least three must have been found gone.

    With t that day, what is still good on day d is (1 - part)^((d / t)^shape). The belief is the posterior under a flat
    prior on log t and on log shape: for location-scale families, and so for the logarithms of Weibull lives, this
    right-Haar prior makes the limits of belief confidence limits, exactly where nothing is censored (Severini, Mukerjee
    & Ghosh 2002, Biometrika 89:952, from memory), and nearly where it is.
    """
    pairs, counts = np.unique(np.column_stack([good, found]).astype(float), axis=0, return_counts=True)
    last = float(pairs[np.isfinite(pairs)].max())
    days = np.geomspace(last / 500, last * 50, DAY_STEPS)
    for _ in range(2):  # the second time where the likelihood is
        likelihood = _log_likelihood(pairs, counts, days, part)
        weight = np.exp(likelihood - likelihood.max()).sum(axis=1)
        likely = np.flatnonzero(weight > TOLERANCE * weight.max())
        believed = np.append(0.0, np.cumsum((weight[1:] + weight[:-1]) / 2))
        found_on = GoneBy(days=days, believed=believed / believed[-1])
        days = np.geomspace(days[max(likely[0] - 1, 0)], days[min(likely[-1] + 1, DAY_STEPS - 1)], DAY_STEPS)
    return found_on


def _log_likelihood(pairs: np.ndarray, counts: np.ndarray, days: np.ndarray, part: float) -> np.ndarray:
    """Of days by which `part` is gone, by shapes."""
    shapes = np.geomspace(*SHAPES, SHAPE_STEPS)
    rate = -np.log1p(-part)
    total = np.zeros((len(days), SHAPE_STEPS))
    with np.errstate(over="ignore", divide="ignore"):
        for (good, found), count in zip(pairs, counts, strict=True):
            until, by = (np.minimum(rate * (day / days[:, None]) ** shapes, MOST_HAZARD) for day in (good, found))
            # log(S(good) - S(found)) = -until + log(1 - exp(-(by - until)))
            total += count * (np.log(-np.expm1(until - by)) - until)
    return total
