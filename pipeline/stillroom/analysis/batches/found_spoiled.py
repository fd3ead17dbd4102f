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
MOST_STEPS: Final = 200


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
    """Fit a Weibull life; None with fewer than `LEAST_FOR_WEIBULL` found spoiled, or all on one day.

    Newton's steps on the logarithms of shape and scale (Lawless 2003, *Statistical Models and Methods for Lifetime
    Data*, 2nd ed., section 5.2, from memory), each halved until the likelihood grows.

    Args:
        good: last day on which each was known to be good.
        found: day on which it was found gone: infinite where it never was, equal to `good` where the day is exact.

    >>> weibull_life([2, 3, 5], [3, 4, float("inf")]) is None
    True
    """
    left, right = np.asarray(good, dtype=float), np.asarray(found, dtype=float)
    gone = np.isfinite(right)
    if gone.sum() < LEAST_FOR_WEIBULL or len(set(right[gone])) < 2:
        return None
    at = np.log([1.5, np.median(right[gone])])
    likelihood, slope, bend = _weibull_likelihood(at, left, right)
    for _ in range(MOST_STEPS):
        # Where the likelihood does not bend down, up its slope.
        falls = np.linalg.eigvalsh(bend).max() < 0
        step = np.linalg.solve(-bend, slope) if falls else slope / np.abs(slope).sum()
        step *= min(1.0, 1.0 / np.abs(step).max())
        better = _weibull_likelihood(at + step, left, right)
        while better[0] < likelihood and np.abs(step).max() > TOLERANCE:
            step /= 2
            better = _weibull_likelihood(at + step, left, right)
        if np.abs(step).max() <= TOLERANCE:
            break
        at, (likelihood, slope, bend) = at + step, better
    return WeibullLife(shape=float(np.exp(at[0])), scale=float(np.exp(at[1])))


def _weibull_likelihood(at: np.ndarray, left: np.ndarray, right: np.ndarray) -> tuple[float, np.ndarray, np.ndarray]:
    """Logarithm of the likelihood at a logarithm of shape and of scale, its slope and its second derivatives.

    What is right of `left` has the chance exp(-hazard(left)) - exp(-hazard(right)); an exact day has a density.
    """
    before, exact, seen = _hazard(at, left), (left == right) & np.isfinite(right), (left < right) & np.isfinite(right)
    value, slope, bend = (-part for part in before)
    after = _hazard(at, np.where(seen, right, 1.0))
    grown = [np.where(seen, late - early, 0.0) for late, early in zip(after, before, strict=True)]
    with np.errstate(divide="ignore", over="ignore"):  # where nothing can have gone, the likelihood is 0
        odds = np.where(grown[0] > 0, 1 / np.expm1(grown[0]), 0.0)
        value = value + np.where(seen, np.log(-np.expm1(-grown[0])), 0.0)
    slope = slope + odds * grown[1]
    bend = bend + odds * grown[2] - odds * (1 + odds) * grown[1][:, None] * grown[1][None]
    # Of an exact day: shape x (days / scale)^shape / days, beside the chance of getting there.
    shape = np.exp(at[0])
    days = np.log(np.where(exact, left, 1.0))
    power = np.where(exact, shape * (days - at[1]), 0.0)
    value = value + np.where(exact, at[0] + power - days, 0.0)
    slope = slope + np.array([np.where(exact, 1 + power, 0.0), np.where(exact, -shape, 0.0)])
    mixed = np.where(exact, -shape, 0.0)
    bend = bend + np.array([[power, mixed], [mixed, np.zeros_like(mixed)]])
    return float(value.sum()), slope.sum(axis=-1), bend.sum(axis=-1)


def _hazard(at: np.ndarray, days: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Cumulative hazard of some days, its slope (2, days) and second derivatives (2, 2, days)."""
    shape = np.exp(at[0])
    power = shape * (np.log(np.where(days > 0, days, 1.0)) - at[1])
    hazard = np.where(days > 0, np.exp(np.minimum(power, np.log(MOST_HAZARD))), 0.0)
    first = np.array([power, np.full_like(power, -shape)])
    second = np.array([[power, first[1]], [first[1], np.zeros_like(power)]])
    return hazard, hazard * first, hazard * (first[:, None] * first[None] + second)


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
