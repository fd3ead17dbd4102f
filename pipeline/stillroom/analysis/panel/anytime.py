"""Judging again after each sitting: an interval that holds whenever one looks, and the levels of planned looks.

Looking again and again at 5 % finds a difference sooner or later where there is none. What was not planned is judged
by an e-value, a bet against 'no difference' whose stake may grow twentyfold in at most one case of twenty, however
often one looks (Ville 1939). What was planned shares the 5 % out over its looks (alpha spending).
"""

from __future__ import annotations

from functools import cache
from typing import Final

import numpy as np
from scipy import special

from stillroom.analysis.panel.version_fit import Floats
from stillroom.analysis.roots import root

SPREAD: Final = 1.0
"""Standard deviation of the differences that the bet reckons with, in standard deviations of a difference."""
_REACH: Final = 8.0
_NODES: Final = 400


def anytime_p(t: float, blocks: float, df: float) -> float:
    """p-value of a t statistic that holds whenever one looks: 1 over the e-value, at most 1.

    `blocks`: number of differences that the statistic rests on (panelists, in a whole design), `df` its degrees of
    freedom. The e-value is the Bayes factor of a normal effect against none with the scale integrated out, a test
    martingale: Lai (1976), *Ann. Statist.* 4:265; Pérez-Ortiz, Lardy, de Heide & Grünwald (2024), *Ann. Statist.*
    52:1410; both from memory.

    >>> round(anytime_p(3.0, 12, 11), 3)
    0.144
    """
    widened = 1 + blocks * SPREAD**2
    log_e = (df + 1) / 2 * (np.log1p(t**2 / df) - np.log1p(t**2 / df / widened)) - np.log(widened) / 2
    return float(min(np.exp(-log_e), 1.0))


def anytime_critical(blocks: float, df: float, alpha: float) -> float:
    """The |t| from which `anytime_p` is at most `alpha`; infinite where so few differences never get there."""
    widened = 1 + blocks * SPREAD**2
    grown = (np.sqrt(widened) / alpha) ** (2 / (df + 1))
    return float(np.sqrt(df * (grown - 1) / (1 - grown / widened))) if grown < widened else float("inf")


@cache
def look_levels(looks: int, alpha: float = 0.05) -> tuple[float, ...]:
    """Two-sided level of each of several equally spaced planned looks.

    Lan & DeMets (1983), *Biometrika* 70:659, with their spending function after O'Brien & Fleming on either
    side; the chance of crossing at a look by the recursion of Armitage, McPherson & Rowe (1969),
    *J. R. Stat. Soc. A* 132:235.

    >>> [round(-float(special.ndtri(level / 2)), 2) for level in look_levels(2)]
    [2.96, 1.97]
    """
    spent = [4 * special.ndtr(special.ndtri(alpha / 4) / np.sqrt(look / looks)) for look in range(1, looks + 1)]
    nodes, weights = np.polynomial.legendre.leggauss(_NODES)
    bounds: list[float] = []
    # The score's density at each look where none before crossed, on nodes within the bounds; information 1 a look.
    at, density = np.zeros(1), np.ones(1)
    for look in range(1, looks + 1):
        aim = spent[look - 1] - (spent[look - 2] if look > 1 else 0.0)

        def beyond(z: float, aim: float = aim, at: Floats = at, density: Floats = density, look: int = look) -> float:
            reach = z * np.sqrt(look)
            return float(density @ (special.ndtr(at - reach) + special.ndtr(-at - reach))) - aim

        bound = root(beyond, 0.0, _REACH)
        bounds.append(bound)
        reach = bound * np.sqrt(look)
        inside = nodes * reach
        density = np.exp(-((inside[:, None] - at) ** 2) / 2) @ density / np.sqrt(2 * np.pi) * weights * reach
        at = inside
    return tuple(float(2 * special.ndtr(-bound)) for bound in bounds)
