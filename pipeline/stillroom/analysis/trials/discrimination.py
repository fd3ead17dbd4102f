"""Difference and preference tests: exact binomial, discriminators, similarity, and how many answers it takes."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from scipy import stats

from stillroom.analysis.intervals import share_interval

GUESSING: Final = {
    "triangle": 1 / 3,
    "duo-trio": 1 / 2,
    "two-out-of-five": 1 / 10,
    "paired-difference": 1 / 2,
    "2-AFC": 1 / 2,
    "3-AFC": 1 / 3,
    "tetrad": 1 / 3,
}
"""Chance of a right answer by guessing: ISO 4120, ISO 10399, ISO 5495, ISO 6658; tetrad ASTM E3009 (from memory)."""
MOST_ANSWERS: Final = 3000
AT_MOST: Final = 1 + 1e-9
"""A chance that is the risk itself, as 1 in 10 x 1 in 10 is 1 %, may come out a rounding above it."""


@dataclass(frozen=True, kw_only=True)
class Discriminators:
    """Share of people who truly notice, with 95 % intervals, as shares of 1 cut off at 0 and 1."""

    share: float
    exact_low: float
    """From the exact (Clopper-Pearson) interval of the share of right answers."""
    exact_high: float
    wald_low: float
    """From the normal approximation, as in annex B of ISO 4120: for comparison with printed examples."""
    wald_high: float


def right_answers_p(correct: int, answers: int, guessing: float) -> float:
    """One-sided exact p: the chance of as many right answers or more by guessing alone.

    >>> round(right_answers_p(8, 12, 1 / 3), 6)
    0.018758
    """
    return float(stats.binom.sf(correct - 1, answers, guessing))


def right_answers_needed(answers: int, guessing: float, alpha: float = 0.05) -> int | None:
    """Fewest right answers that guessing reaches with at most `alpha`; None where even all right do not suffice.

    >>> right_answers_needed(12, 1 / 3), right_answers_needed(6, 1 / 3, 0.001)
    (8, None)
    """
    risk = alpha * AT_MOST
    needed = int(stats.binom.isf(risk, answers, guessing)) + 1
    # isf may be one off where a tail equals the risk within rounding.
    while needed > 0 and right_answers_p(needed - 1, answers, guessing) <= risk:
        needed -= 1
    while needed <= answers and right_answers_p(needed, answers, guessing) > risk:
        needed += 1
    return needed if needed <= answers else None


def discriminators(correct: int, answers: int, guessing: float) -> Discriminators:
    """Abbott's correction for guessing: (pc - p0) / (1 - p0), with intervals."""
    pc = correct / answers
    exact = share_interval(correct, answers, method="exact")
    reach = float(stats.norm.isf(0.025)) * np.sqrt(pc * (1 - pc) / answers)

    def share(right: float) -> float:
        return float(min(max((right - guessing) / (1 - guessing), 0.0), 1.0))

    return Discriminators(
        share=share(pc),
        exact_low=share(exact.low),
        exact_high=share(exact.high),
        wald_low=share(pc - reach),
        wald_high=share(pc + reach),
    )


def similarity_p(correct: int, answers: int, guessing: float, most: float) -> float:
    """Exact chance of so few right answers if a share `most` truly noticed: small means similar (ISO 4120)."""
    return float(stats.binom.cdf(correct, answers, guessing + (1 - guessing) * most))


def preference_p(preferring: int, answers: int) -> float:
    """Two-sided exact p that as many prefer one of two by chance (ISO 5495); answers without a preference left out.

    >>> round(preference_p(18, 24), 4)
    0.0227
    """
    return float(stats.binomtest(preferring, answers, 0.5).pvalue)


def answers_needed(share: float, alpha: float, beta: float, guessing: float, sides: int = 1) -> int | None:
    """Smallest number of answers that shows a true share of discriminators with risks alpha and beta (exact binomial).

    As ISO 4120 table A.3 counts; larger numbers need not all suffice, since the binomial goes in steps.

    >>> answers_needed(0.30, 0.05, 0.05, 1 / 3)
    66
    """
    if not 0 < share <= 1:
        return None
    counts = np.arange(1, MOST_ANSWERS + 1)
    # Smallest k with P(X >= k) <= alpha: one above the quantile at 1 - alpha, or the quantile where that is exact.
    needed = stats.binom.isf(alpha * AT_MOST / sides, counts, guessing) + 1
    truth = guessing + (1 - guessing) * share
    enough = np.flatnonzero((needed <= counts) & (stats.binom.cdf(needed - 1, counts, truth) <= beta))
    return int(counts[enough[0]]) if len(enough) else None
