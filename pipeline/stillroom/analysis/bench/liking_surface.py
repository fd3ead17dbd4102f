"""Liking as a function of amounts, from few versions tasted by few people: a Gaussian process with its band.

Every score is the liking of its version, plus the level of the person in that sitting, plus scatter. Of the levels
nothing is known beforehand; of liking only that it is smooth: amounts a step apart are liked nearly alike, amounts many
steps apart may be liked anyhow. How smooth and how high it moves is not fixed: a grid of both is weighed by how well
each explains the scores (Rasmussen & Williams 2006, *Gaussian Processes for Machine Learning*, eq. 2.30, 5.8).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import product
from typing import Any, Final

import numpy as np

Array = np.ndarray[Any, np.dtype[np.float64]]

REACHES: Final = (1.0, 2.0, 4.0)
"""Steps over which liking stays alike: length scales that are weighed."""
HEIGHTS: Final = (0.0625, 0.125, 0.25)
"""Standard deviations of liking over all amounts, as shares of the scale, that are weighed."""
SCATTER: Final = 0.15
"""Standard deviation of one score, as a share of the scale, before scores say more (common practice, no source)."""
SCATTER_WORTH: Final = 4.0
"""Degrees of freedom that this is worth."""
OWN: Final = 0.02
"""What a version has of its own beside its amounts: standard deviation, as a share of the scale."""
LEVELS: Final = 10.0
"""Standard deviation of people's levels, in scales: nothing known."""


@dataclass(frozen=True, kw_only=True)
class Tasted:
    """Scores of liking.

    m scores of n versions that differ in d amounts.
    """

    amounts: Array
    """Of each version, in steps, shape (n, d)."""
    version: Sequence[int]
    """Of each score, its place among the versions, m."""
    person: Sequence[int]
    """Of each score, a number for the person in that sitting, m."""
    score: Array
    """Shape (m,)."""
    width: float
    """Of the scale, points."""
    own: Array
    """Of each version, what it may have beside its amounts, as a share of the scale: `OWN`, or more where other things
    differ, too; shape (n,)."""


@dataclass(frozen=True, kw_only=True)
class _Shape:
    """One way in which liking may move, and how well it explains the scores."""

    reach: float
    height: float
    fit: float
    """Logarithm of the marginal likelihood, but for a constant."""
    factor: Array
    """Cholesky factor of the covariance of the scores."""
    answer: Array
    """That covariance's inverse times the scores."""


class Surface:
    """Liking at any amounts, given scores; means are beside the level that all versions share."""

    def __init__(self, tasted: Tasted) -> None:
        self.tasted = tasted
        self.scatter = _scatter(tasted)
        self._rows = np.array(tasted.version, dtype=int)
        people = np.array(tasted.person, dtype=int)
        noise = self.scatter**2 * np.eye(len(people)) + (LEVELS * tasted.width) ** 2 * (
            people[:, None] == people[None, :]
        )
        shapes = []
        for reach, share in product(REACHES, HEIGHTS):
            height = share * tasted.width
            known = _alike(tasted.amounts, tasted.amounts, reach, height) + np.diag((tasted.own * tasted.width) ** 2)
            factor = np.linalg.cholesky(known[np.ix_(self._rows, self._rows)] + noise)
            answer = _solve(factor, tasted.score)
            fit = -0.5 * tasted.score @ answer - np.log(np.diag(factor)).sum()
            shapes.append(_Shape(reach=reach, height=height, fit=float(fit), factor=factor, answer=answer))
        best = max(one.fit for one in shapes)
        self._shapes = [one for one in shapes if one.fit > best - 10]  # others weigh next to nothing
        weights = np.exp([one.fit - best for one in self._shapes])
        self._weights = weights / weights.sum()

    def at(self, amounts: Array) -> tuple[Array, Array]:
        """Means (k,) and covariance (k, k) of liking at k sets of amounts (k, d), in steps.

        Over all shapes by their weights: the covariance holds also by how much their means differ.
        """
        return self._mixed(
            lambda one: (
                _alike(amounts, amounts, one.reach, one.height),
                _alike(amounts, self.tasted.amounts, one.reach, one.height),
            )
        )

    def versions(self) -> tuple[Array, Array]:
        """The same of the versions that were tasted, with what each has of its own: means (n,), covariance (n, n)."""
        own = np.diag((self.tasted.own * self.tasted.width) ** 2)

        def known(one: _Shape) -> tuple[Array, Array]:
            alike = _alike(self.tasted.amounts, self.tasted.amounts, one.reach, one.height) + own
            return alike, alike

        return self._mixed(known)

    def _mixed(self, known: Callable[[_Shape], tuple[Array, Array]]) -> tuple[Array, Array]:
        """What is to be expected, given what is known beforehand: covariance of it, and with the versions tasted."""
        means, covariances = [], []
        for one in self._shapes:
            before, with_versions = known(one)
            cross = with_versions[:, self._rows]
            means.append(cross @ one.answer)
            explained = np.linalg.solve(one.factor, cross.T)
            covariances.append(before - explained.T @ explained)
        mean = np.tensordot(self._weights, np.array(means), 1)
        apart = np.array(means) - mean
        spread = np.einsum("s,si,sj->ij", self._weights, apart, apart)
        return np.asarray(mean), np.asarray(np.tensordot(self._weights, np.array(covariances), 1) + spread)


def _alike(some: Array, others: Array, reach: float, height: float) -> Array:
    """Covariance of liking at two sets of amounts: height² exp(-distance² / 2 reach²)."""
    distance = ((some[:, None, :] - others[None, :, :]) ** 2).sum(axis=2)
    return np.asarray(height**2 * np.exp(-0.5 * distance / reach**2))


def _solve(factor: Array, right: Array) -> Array:
    return np.asarray(np.linalg.solve(factor.T, np.linalg.solve(factor, right)))


def _scatter(tasted: Tasted) -> float:
    """Standard deviation of one score about its person and version, drawn towards what is usual where few say it."""
    person, version = np.array(tasted.person), np.array(tasted.version)
    known = np.hstack([person[:, None] == np.unique(person), version[:, None] == np.unique(version)]).astype(float)
    fitted, _, rank, _ = np.linalg.lstsq(known, tasted.score, rcond=None)
    left = float(((tasted.score - known @ fitted) ** 2).sum())
    free = len(tasted.score) - int(rank)
    usual = (SCATTER * tasted.width) ** 2
    return float(np.sqrt((left + SCATTER_WORTH * usual) / (free + SCATTER_WORTH)))
