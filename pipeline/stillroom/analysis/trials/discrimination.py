"""Difference and preference tests: exact binomial, discriminators, similarity, and how many answers it takes."""

from __future__ import annotations

from bisect import bisect_left
from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt
from scipy import special

GUESSING: Final = {
    "triangle": 1 / 3,
    "duo-trio": 1 / 2,
    "two-out-of-five": 1 / 10,
    "paired-difference": 1 / 2,
    "2-AFC": 1 / 2,
    "3-AFC": 1 / 3,
    "tetrad": 1 / 3,
    "A-not-A": 1 / 2,
}
"""Chance of a right answer by guessing: ISO 4120, ISO 10399, ISO 5495, ISO 6658; tetrad ASTM E3009 (from memory)."""
MOST_ANSWERS: Final = 3000
AT_MOST: Final = 1 + 1e-9
"""A chance that is the risk itself, as 1 in 10 x 1 in 10 is 1 %, may come out a rounding above it."""


@dataclass(frozen=True, kw_only=True)
class Discriminators:
    """Share of people who truly notice, with limits, as shares of 1 cut off at 0 and 1."""

    share: float
    exact_low: float
    """Each end holds with 95 %, as the one-sided tests of difference and similarity do (Clopper & Pearson 1934)."""
    exact_high: float
    wald_low: float
    """95 % interval of the normal approximation, as in annex B of ISO 4120: for comparison with printed examples."""
    wald_high: float


def right_answers_p(correct: float, answers: float, guessing: float) -> float:
    """One-sided exact p: the chance of as many right answers or more by guessing alone.

    Numbers need not be whole: repeated answers of a person are worth less than one each (`repeats.worth_of`).

    >>> round(right_answers_p(8, 12, 1 / 3), 6)
    0.018758
    """
    return float(special.betainc(correct, answers - correct + 1, guessing)) if correct > 0 else 1.0


def right_share_limits(correct: float, answers: float, level: float = 0.9) -> tuple[float, float]:
    """Both ends of the exact interval of the share of right answers; at 90 % each end holds with 95 %."""
    tail = (1 - level) / 2
    low = float(special.betaincinv(correct, answers - correct + 1, tail)) if correct > 0 else 0.0
    high = float(special.betaincinv(correct + 1, answers - correct, 1 - tail)) if correct < answers else 1.0
    return low, high


def right_answers_needed(answers: int, guessing: float, alpha: float = 0.05) -> int | None:
    """Fewest right answers that guessing reaches with at most `alpha`; None where even all right do not suffice.

    >>> right_answers_needed(12, 1 / 3), right_answers_needed(6, 1 / 3, 0.001)
    (8, None)
    """
    risk = alpha * AT_MOST
    counts = range(answers + 1)
    needed = bisect_left(counts, True, key=lambda right: right_answers_p(right, answers, guessing) <= risk)
    return needed if needed <= answers else None


def discriminators(correct: float, answers: float, guessing: float) -> Discriminators:
    """Abbott's correction for guessing: (pc - p0) / (1 - p0), with intervals."""
    pc = correct / answers
    low, high = right_share_limits(correct, answers)
    reach = float(special.ndtri(0.975)) * np.sqrt(pc * (1 - pc) / answers)

    def share(right: float) -> float:
        return float(min(max((right - guessing) / (1 - guessing), 0.0), 1.0))

    return Discriminators(
        share=share(pc),
        exact_low=share(low),
        exact_high=share(high),
        wald_low=share(pc - reach),
        wald_high=share(pc + reach),
    )


def similarity_p(correct: float, answers: float, guessing: float, most: float) -> float:
    """Exact chance of so few right answers if a share `most` truly noticed: small means similar (ISO 4120)."""
    right = guessing + (1 - guessing) * most
    return float(special.betaincc(correct + 1, answers - correct, right)) if correct < answers else 1.0


def preference_p(preferring: float, answers: float) -> float:
    """Two-sided exact p that as many prefer one of two by chance (ISO 5495); answers without a preference left out.

    >>> round(preference_p(18, 24), 4)
    0.0227
    """
    return min(2 * right_answers_p(max(preferring, answers - preferring), answers, 0.5), 1.0)


def answers_needed(share: float, alpha: float, beta: float, guessing: float, sides: int = 1) -> int | None:
    """Smallest number of answers that shows a true share of discriminators with risks alpha and beta (exact binomial).

    As ISO 4120 table A.3 counts; larger numbers need not all suffice, since the binomial goes in steps.

    >>> answers_needed(0.30, 0.05, 0.05, 1 / 3)
    66
    """
    enough = np.flatnonzero(_suffices(share, alpha, beta, guessing, sides))
    return int(enough[0]) + 1 if len(enough) else None


def answers_that_hold(share: float, alpha: float, beta: float, guessing: float, sides: int = 1) -> int | None:
    """Number of answers from which on every number suffices; None beyond `MOST_ANSWERS`.

    >>> answers_that_hold(0.30, 0.05, 0.20, 1 / 3), answers_needed(0.30, 0.05, 0.20, 1 / 3)
    (42, 40)
    """
    lacking = np.flatnonzero(~_suffices(share, alpha, beta, guessing, sides))
    last = int(lacking[-1]) + 1
    return last + 1 if last < MOST_ANSWERS else None


def _suffices(share: float, alpha: float, beta: float, guessing: float, sides: int) -> npt.NDArray[np.bool_]:
    """Whether 1, 2, 3 ... answers do."""
    counts = np.arange(1, MOST_ANSWERS + 1)
    if not 0 < share <= 1:
        return np.zeros(len(counts), dtype=bool)
    # Smallest k with P(X >= k) <= alpha: one above the quantile at 1 - alpha, or the quantile where that is exact.
    risk = alpha * AT_MOST / sides
    needed = np.maximum(np.ceil(special.bdtrik(1 - risk, counts, guessing)), 0.0) + 1
    # The quantile may be one off where a tail equals the risk within rounding.
    needed -= (needed > 1) & (special.bdtrc(needed - 2, counts, guessing) <= risk)
    needed += special.bdtrc(needed - 1, counts, guessing) > risk
    truth = guessing + (1 - guessing) * share
    return np.asarray((needed <= counts) & (special.bdtr(needed - 1, counts, truth) <= beta))
