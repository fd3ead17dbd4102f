"""How often the ranges of a season's sums hold: seasons drawn anew many times around what is known to be true.

`python -m benchmarks.seasons` writes a line for docs/simulations.md.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from stillroom.analysis.menu.weekly_money import ratio_of_weeks, reach_of_sum

WEEKS = 13
MEAN = 6000.0
SPREAD = 500.0
"""Scatter of a week about its course: that of the demo house, about."""


@dataclass(frozen=True)
class Held:
    """Part of the seasons whose range held the truth."""

    sums: float
    ratios: float


def coverage(rounds: int, seed: int, weeks: int = WEEKS, trend: float = 0.017) -> Held:
    """Draw seasons whose weeks scatter about a rising course, and one before without a trend.

    Args:
        trend: rise a week, as a part.
    """
    rng = np.random.default_rng(seed)
    course = MEAN * (1 + trend) ** np.arange(weeks)
    sums = ratios = 0
    for _ in range(rounds):
        now = list(course + rng.normal(0, SPREAD, weeks))
        before = list(MEAN + rng.normal(0, SPREAD, weeks))
        reach = reach_of_sum(now, weeks)
        assert reach is not None
        sums += abs(sum(now) - course.sum()) <= reach
        found = ratio_of_weeks(now, before)
        assert found is not None
        _, low, high = found
        assert low is not None
        assert high is not None
        ratios += low <= course.mean() / MEAN <= high
    return Held(sums / rounds, ratios / rounds)


def main() -> None:
    """Print the figures."""
    for weeks in (5, 8, 13, 26):
        held = coverage(20_000, 20260302, weeks)
        print(f"{weeks} weeks: sums {100 * held.sums:.1f} %, ratios {100 * held.ratios:.1f} %")


if __name__ == "__main__":
    main()
