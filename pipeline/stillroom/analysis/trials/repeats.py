"""Several answers of one person are worth less than as many of several people: how much less."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy import special

from stillroom.analysis.lowest import lowest


@dataclass(frozen=True, kw_only=True)
class Worth:
    """What answers are worth in answers of people of their own."""

    answers: float
    correlation: float
    """Of two answers of one person: 0 where they are as good as by two people, 1 where they are always the same."""


def worth_of(right: Sequence[int], answers: Sequence[int]) -> Worth:
    """Effective number of answers, from how many each person gave and how many of them were right.

    The correlation is the maximum likelihood estimate of the beta-binomial (Ennis & Bi 1998, *J. Sens. Stud.* 13:389;
    ASTM E2139, both from memory), not below 0; n answers then count as n over their design effect (Rao & Scott 1992,
    *Biometrics* 48:577, from memory), and everything else follows as if people had answered once.

    >>> round(worth_of([4, 0, 4, 0], [4, 4, 4, 4]).answers, 1), worth_of([1, 0, 1], [1, 1, 1]).answers
    (4.0, 3.0)
    """
    x, n = np.asarray(right, float), np.asarray(answers, float)
    total = float(n.sum())
    if n.max() == 1:
        return Worth(answers=total, correlation=0.0)
    correlation = _correlation(x, n)
    each = float((n**2).sum()) / total
    return Worth(answers=total / (1 + (each - 1) * correlation), correlation=correlation)


def _correlation(x: np.ndarray, n: np.ndarray) -> float:
    def deviance(at: np.ndarray) -> tuple[float, np.ndarray]:
        mean, correlation = special.expit(at[0]), at[1]
        spread = (1 - correlation) / correlation
        a, b = mean * spread, (1 - mean) * spread
        value = -(special.betaln(x + a, n - x + b) - special.betaln(a, b)).sum()
        both = special.digamma(n + a + b) - special.digamma(a + b)
        by_a = (both - special.digamma(x + a) + special.digamma(a)).sum()
        by_b = (both - special.digamma(n - x + b) + special.digamma(b)).sum()
        by_mean = (by_a - by_b) * mean * (1 - mean) * spread
        return float(value), np.array([by_mean, -(by_a * mean + by_b * (1 - mean)) / correlation**2])

    share = np.clip(x.sum() / n.sum(), 0.02, 0.98)
    fits = [lowest(deviance, [special.logit(share), start], [-6.0, 1e-6], [6.0, 0.99]) for start in (0.05, 0.5)]
    found = float(min(fits, key=lambda fit: fit[1])[0][1])
    return 0.0 if found < 1e-4 else found
