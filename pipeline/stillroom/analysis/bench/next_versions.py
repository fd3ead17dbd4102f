"""Which versions to taste next: those that promise most beyond the best there is, each beside the others chosen.

Expected improvement (Jones, Schonlau & Welch 1998, *J. Global Optimization* 13:455) over the best version, of the
difference between the two; several at once by taking what is expected of each as if it had been tasted (Ginsbourger, Le
Riche & Carraro 2010, 'kriging believer').
"""

from __future__ import annotations

from dataclasses import replace
from itertools import product
from typing import Final

import numpy as np
from scipy.stats import norm

from stillroom.analysis.bench.liking_surface import OWN, Array, Surface

LEVELS: Final = {1: 9, 2: 7, 3: 5}
"""How many amounts are looked at of each of so many things that may change."""
TELLS: Final = 0.9
"""Chance that one version is liked better than another from which the two are told apart."""


def around(center: Array, reach: float = 1.0) -> Array:
    """Sets of amounts within a step of some, shape (k, d), in steps; at most three things change.

    >>> around(np.array([0.0])).ravel().tolist()
    [-1.0, -0.75, -0.5, -0.25, 0.0, 0.25, 0.5, 0.75, 1.0]
    """
    moves = np.linspace(-reach, reach, LEVELS[len(center)])
    return np.array([center + np.array(move) for move in product(moves, repeat=len(center))])


def improvement(surface: Surface, candidates: Array, best: Array) -> Array:
    """Expected gain over `best` (d,) of each candidate (k, d), points: E max(0, f(x) - f(best))."""
    gain, sd = _beside(surface, candidates, best)
    return np.asarray(gain * norm.cdf(gain / sd) + sd * norm.pdf(gain / sd))


def gains_over(surface: Surface, candidates: Array, best: Array) -> tuple[Array, Array, Array]:
    """What each candidate (k, d) is expected to gain over `best` (d,), and the ends of its 95 % band, points."""
    gain, sd = _beside(surface, candidates, best)
    reach = float(norm.ppf(0.975)) * sd
    return gain, gain - reach, gain + reach


def _beside(surface: Surface, candidates: Array, best: Array) -> tuple[Array, Array]:
    """Mean and standard deviation of the liking of each candidate less that of the best."""
    mean, covariance = surface.at(np.vstack([candidates, best]))
    variance = np.diag(covariance)[:-1] + covariance[-1, -1] - 2 * covariance[:-1, -1]
    return mean[:-1] - mean[-1], np.sqrt(np.maximum(variance, 1e-12))


def next_versions(surface: Surface, candidates: Array, best: Array, how_many: int, people: int) -> list[int]:
    """Places of the candidates to taste next, the most promising first.

    Args:
        people: that will taste, each everything.
    """
    chosen: list[int] = []
    for _ in range(how_many):
        gains = improvement(surface, candidates, best)
        gains[chosen] = -1.0
        place = int(np.argmax(np.round(gains, 9)))
        chosen.append(place)
        surface = believing(surface, np.vstack([best, candidates[place]]), people)
    return chosen


def believing(surface: Surface, amounts: Array, people: int) -> Surface:
    """The surface as if so many people had found these versions just as good as expected."""
    old = surface.tasted
    mean, _ = surface.at(amounts)
    first, who = len(old.amounts), max(old.person, default=-1) + 1
    pairs = [(place, one) for one in range(people) for place in range(len(amounts))]
    return Surface(
        replace(
            old,
            amounts=np.vstack([old.amounts, amounts]),
            version=[*old.version, *(first + place for place, _ in pairs)],
            person=[*old.person, *(who + one for _, one in pairs)],
            score=np.concatenate([old.score, [mean[place] for place, _ in pairs]]),
            own=np.concatenate([old.own, np.full(len(amounts), OWN)]),
        )
    )


def best_of(surface: Surface) -> int:
    """Place of the tasted version that is held best, the first of equals."""
    return int(np.argmax(np.round(surface.versions()[0], 9)))


def not_told_apart(surface: Surface) -> list[int]:
    """Places of the tasted versions that may be the best liked: the best, and all that it is not told apart from.

    Returns:
        several places, best first; one alone where it is told apart from all others.
    """
    mean, covariance = surface.versions()
    best = best_of(surface)
    variance = np.diag(covariance) + covariance[best, best] - 2 * covariance[best]
    chance = norm.cdf((mean[best] - mean) / np.sqrt(np.maximum(variance, 1e-12)))
    others = [place for place in np.argsort(-mean) if place != best and chance[place] < TELLS]
    return [best, *map(int, others)]
