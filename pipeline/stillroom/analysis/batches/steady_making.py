"""What a preparation comes to a week when it is made by the prep list's own way, week after week.

The way is that of `making_way`; it is followed here over a long stretch of days, and what is used, wasted,
missed and made is counted once the shelf has filled.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from stillroom.analysis.batches.making_plan import LONGEST_KEEP
from stillroom.analysis.batches.making_way import FULL, WEEK, Costs, MakingDays, follow, making_way

LONGEST: Final = 364
"""Days of keep that are told apart; what keeps longer is taken to keep a year."""
SHORTEST: Final = 28
"""Days that are run through, at least."""
SEARCH_DRAWS: Final = 200
"""Draws on which the way is searched for; it is followed on all."""


@dataclass(frozen=True, kw_only=True)
class Made:
    """How a preparation is made."""

    keeps: int
    """Days a batch is good, the day it is made included."""
    step: float
    """The smallest amount that is made."""
    most: float
    """The most at a time; raised where the use until the next making asks for more."""
    next_making: int
    """Days from one making day to the next."""


@dataclass(frozen=True, kw_only=True)
class SteadyWeek:
    """A mean week, one figure for each draw of the use; amounts in the preparation's unit."""

    used: np.ndarray
    """What is wanted of it."""
    wasted: np.ndarray
    short: np.ndarray
    makings: np.ndarray
    """How many times something is made."""

    def cost(self, costs: Costs) -> np.ndarray:
        """Money a week: waste, what is missing, and the work of makings."""
        return np.asarray(costs.waste * self.wasted + costs.short * self.short + costs.making * self.makings)


def no_week(draws: int) -> SteadyWeek:
    """A week of a preparation that nothing is wanted of."""
    none = np.zeros(draws)
    return SteadyWeek(used=none, wasted=none, short=none, makings=none)


def steady_week(use: np.ndarray, made: Made, costs: Costs) -> SteadyWeek:
    """The mean week of a preparation under its best steady way.

    The days of use are run through again and again, first to fill the shelf, then to count. What keeps longer than
    `LONGEST_KEEP` days is followed in steps of several days.

    Args:
        use: draws by days, whole weeks of them.
        made: how it is made.
        costs: what waste, running out and work cost.
    """
    if not use.any():
        return no_week(len(use))
    keeps = min(max(1, made.keeps), LONGEST)
    block = int(np.ceil(keeps / LONGEST_KEEP))
    length = block * WEEK * int(np.ceil(max(use.shape[1], keeps, SHORTEST) / (block * WEEK)))
    stretch = np.take(use, np.arange(length) % use.shape[1], axis=1)
    steps = stretch.reshape(len(use), length // block, block).sum(axis=2)
    next_making = max(1, round(made.next_making / block))
    days = MakingDays(
        use=steps,
        keeps=max(1, keeps // block),
        next_making=next_making,
        step=made.step,
        most=max(made.most, float(np.quantile(steps[:, :next_making].sum(axis=1), FULL))),
        costs=costs,
    )
    found, weeks = follow(days, making_way(replace(days, use=steps[:SEARCH_DRAWS]))), length / WEEK
    return SteadyWeek(
        used=steps.sum(axis=1) / weeks,
        wasted=found.wasted / weeks,
        short=found.short / weeks,
        makings=found.makings / weeks,
    )
