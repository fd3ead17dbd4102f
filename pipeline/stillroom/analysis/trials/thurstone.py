"""Thurstonian d': how far apart two samples lie, in standard deviations of perception, whatever the test method.

Psychometric functions: Ura (1960), David & Trivedi (1962), Ennis (1993), *J. Sens. Stud.* 8:353; tetrad: Ennis &
Jesionka (2011), *J. Sens. Stud.* 26:371.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from typing import Final

import numpy as np
import numpy.typing as npt
from scipy import special

from stillroom.analysis.roots import root
from stillroom.analysis.trials.discrimination import GUESSING, right_share_limits

Floats = npt.NDArray[np.float64]
LARGEST: Final = 20.0
"""A d' beyond this cannot be told from perfect discrimination."""


@dataclass(frozen=True, kw_only=True)
class DPrime:
    """d' and its limits, each of which holds with 95 %; `se` is None at or below the guessing rate."""

    value: float | None
    """None where all answers are right: no end to it."""
    se: float | None
    low: float
    high: float | None
    """None: no upper limit, all answers may as well be right."""


@cache
def _nodes() -> tuple[Floats, Floats]:
    nodes, weights = np.polynomial.legendre.leggauss(400)
    return nodes, weights


def _integral(f: Callable[[Floats], Floats], low: float, high: float) -> float:
    nodes, weights = _nodes()
    return float(f(low + (high - low) * (nodes + 1) / 2) @ weights) * (high - low) / 2


def _phi(x: Floats) -> Floats:
    return np.asarray(np.exp(-(x**2) / 2) / np.sqrt(2 * np.pi))


def _triangle(d: float) -> float:
    def inside(u: Floats) -> Floats:
        near = special.ndtr(-u * np.sqrt(3) + d * np.sqrt(2 / 3)) + special.ndtr(-u * np.sqrt(3) - d * np.sqrt(2 / 3))
        return np.asarray(near * _phi(u))

    return 2 * _integral(inside, 0, 9)


def _duo_trio(d: float) -> float:
    wide, narrow = special.ndtr(d / np.sqrt(2)), special.ndtr(d / np.sqrt(6))
    return float(1 - wide - narrow + 2 * wide * narrow)


def _two_afc(d: float) -> float:
    return float(special.ndtr(d / np.sqrt(2)))


def _three_afc(d: float) -> float:
    return _integral(lambda u: np.asarray(special.ndtr(u) ** 2 * _phi(u - d)), -9, 9 + d)


def _tetrad(d: float) -> float:
    def inside(x: Floats) -> Floats:
        other = special.ndtr(x - d)
        return np.asarray(_phi(x) * (2 * special.ndtr(x) * other - other**2))

    return 1 - 2 * _integral(inside, -9, 9)


_RIGHT: Final[dict[str, Callable[[float], float]]] = {
    "triangle": _triangle,
    "duo-trio": _duo_trio,
    "2-AFC": _two_afc,
    "paired-difference": _two_afc,
    "3-AFC": _three_afc,
    "tetrad": _tetrad,
}
METHODS: Final = tuple(_RIGHT)
"""Methods with a d'; a two-out-of-five test has none here."""


def share_right(d: float, method: str) -> float:
    """Share of right answers that a d' of `d` leads to.

    >>> round(share_right(1, "triangle"), 4), round(share_right(1, "3-AFC"), 4)
    (0.418, 0.6337)
    """
    return _RIGHT[method](d)


def d_prime_at(right: float, method: str) -> float:
    """The d' that leads to a share of right answers; 0 at and below guessing.

    >>> round(d_prime_at(0.5, "triangle"), 3)
    1.466
    """
    if right <= GUESSING[method]:
        return 0.0
    if right >= share_right(LARGEST, method):
        return LARGEST
    return root(lambda d: share_right(d, method) - right, 0.0, LARGEST)


def d_prime(correct: float, answers: float, method: str) -> DPrime:
    """d' of a test, its standard error by the delta method, its limits from the exact ones of the right answers."""
    right = correct / answers
    value = d_prime_at(right, method) if correct < answers else None
    low, high = right_share_limits(correct, answers)
    se = None
    if value:
        step = 1e-4
        slope = (share_right(value + step, method) - share_right(value - step, method)) / (2 * step)
        se = float(np.sqrt(right * (1 - right) / answers) / slope)
    return DPrime(
        value=value,
        se=se,
        low=d_prime_at(low, method),
        high=d_prime_at(high, method) if correct < answers else None,
    )
