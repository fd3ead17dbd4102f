"""The A-not-A test: one glass at a time, and whether it is the A that was tasted before (ISO 8588, from memory)."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from scipy import special

from stillroom.analysis.roots import root

MOST_GLASSES: Final = 200
STEPS: Final = 5
"""The binomial goes in steps: this many numbers in a row must suffice."""


@dataclass(frozen=True, kw_only=True)
class Recognised:
    """What the answers say."""

    p: float
    """One-sided: 'A' is not said more often of A than of the other."""
    so_few_p: float
    """The other side: as seldom, or more so."""
    d_prime: float | None
    """Distance in standard deviations of perception; None where one of the two was always said the same of."""
    d_low: float
    """One-sided 95 % limits, 0 where the test is not clear."""
    d_high: float | None


def recognised(said_a_of_a: int, a: int, said_a_of_other: int, other: int) -> Recognised:
    """Test and index of signal detection, d' = z(hits) - z(false alarms) (Macmillan & Creelman, from memory).

    `said_a_of_a` of `a` glasses of A, `said_a_of_other` of `other` glasses were called A. Fisher's exact test
    of the two shares; limits of d' from the exact ones of the odds ratio (noncentral hypergeometric distribution), at
    the number of times 'A' was said, so that test and limits never disagree.

    >>> found = recognised(16, 20, 8, 20)
    >>> round(found.p, 4), round(found.d_prime, 2)
    (0.0112, 1.09)
    """
    from scipy import stats

    said = said_a_of_a + said_a_of_other
    of_all = stats.hypergeom(a + other, a, said)
    low, high = _odds(said_a_of_a, a, said, other)
    hits, alarms = said_a_of_a / a, said_a_of_other / other
    whole = min(hits, alarms) > 0 and max(hits, alarms) < 1
    return Recognised(
        p=float(of_all.sf(said_a_of_a - 1)),
        so_few_p=float(of_all.cdf(said_a_of_a)),
        d_prime=float(max(special.ndtri(hits) - special.ndtri(alarms), 0.0)) if whole else None,
        d_low=_distance(low, a, other, said),
        d_high=None if high is None else _distance(high, a, other, said),
    )


def glasses_that_hold(noticing: float, alpha: float, beta: float) -> int | None:
    """Glasses of each kind that show that a share of people notice, the others guessing; None beyond `MOST_GLASSES`.

    Exact power of Fisher's test at the shares called A of 1/2 + noticing/2 and 1/2 - noticing/2. So many suffice, and
    so do the next few.
    """
    enough = 0
    for glasses in range(2, MOST_GLASSES + STEPS):
        enough = enough + 1 if _power(glasses, noticing, alpha) >= 1 - beta else 0
        if enough == STEPS:
            return glasses - STEPS + 1
    return None


def _power(glasses: int, noticing: float, alpha: float) -> float:
    from scipy import stats

    said = np.arange(glasses + 1)
    hits, alarms = (stats.binom.pmf(said, glasses, (1 + sign * noticing) / 2) for sign in (1, -1))
    clear = stats.hypergeom.sf(said[:, None] - 1, 2 * glasses, glasses, said[:, None] + said) <= alpha
    return float(hits @ clear @ alarms)


def _odds(hits: int, a: int, said: int, other: int) -> tuple[float, float | None]:
    from scipy import stats

    least, most = max(0, said - other), min(a, said)

    def tail(log_odds: float, upper: bool) -> float:
        of_all = stats.nchypergeom_fisher(a + other, a, said, float(np.exp(log_odds)))
        return float(of_all.sf(hits - 1) if upper else of_all.cdf(hits)) - 0.05

    low = 0.0 if hits <= least else float(np.exp(root(lambda at: tail(at, True), -20, 20)))
    high = None if hits >= most else float(np.exp(root(lambda at: tail(at, False), -20, 20)))
    return low, high


def _distance(odds: float, a: int, other: int, said: int) -> float:
    """The d' of an odds ratio where 'A' is said as often as it was; 0 below 1."""
    if odds <= 1 or not 0 < said < a + other:
        return 0.0

    def surplus(alarms: float) -> float:
        return a * _hits(alarms, odds) + other * alarms - said

    alarms = root(surplus, 1e-12, 1 - 1e-12)
    return float(special.ndtri(_hits(alarms, odds)) - special.ndtri(alarms))


def _hits(alarms: float, odds: float) -> float:
    return odds * alarms / (1 - alarms + odds * alarms)
