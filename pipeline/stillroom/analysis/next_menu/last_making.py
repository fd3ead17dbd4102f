"""What to stop making when, so that nothing is left on the last day: a last-buy plan.

A final order covers what is still to be sold, and what is left of it is lost (Teunter & Fortuin 1999, International
Journal of Production Economics 59:147, from memory); with a keep time there is one for each preparation: on some
making day a last making brings what is there up to an amount, and after it none is made. Until then it is made as
usual, but never for more than what will still be used. Every day and several amounts are tried on the same draws of
the use; with one day left that is the newsvendor's critical ratio, short / (short + waste).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from stillroom.analysis.batches.making_plan import Lot
from stillroom.analysis.batches.making_way import FULL, Costs, MakingDays, making_way
from stillroom.analysis.batches.shelf import Shelf
from stillroom.analysis.batches.steady_making import Made

CHANCES: Final = (0.3, 0.5, 0.65, 0.8, 0.9, 0.97)
"""Chances of lasting to the end that a last making may be meant to give; the critical ratio is tried besides."""
COVERED: Final = 0.9
"""Chance of covering all use to the end beyond which nothing is made on the way there."""


@dataclass(frozen=True, kw_only=True)
class LastMaking:
    """When a preparation is made for the last time, and what that leaves. Amounts in its unit, means over the draws."""

    day: int | None
    """When the last making is likely to be, in days after the first, from 0; None where likely none is needed."""
    size: float
    """How much that making is, in the mean."""
    stop: int | None
    """Day after which none is made, whatever is there; None where none is made at all."""
    up_to: float
    """What is to be there after a making on that day."""
    left: float
    """On the last day."""
    left_usual: float
    """The same when it is made as usual to the end."""
    lost: float
    """What is left, and what passed its use-by before."""
    lost_usual: float
    chance_short: float
    """That it runs out before the end."""
    saves: float
    """Money against making as usual: waste, what is missing, and work."""


def last_making(lots: Sequence[Lot], use: np.ndarray, made: Made, costs: Costs) -> LastMaking:
    """The last making that costs least.

    Args:
        lots: what is on hand on the first day.
        use: draws by days, to the last day on which it is served.
        made: how it is made.
        costs: what waste, running out and work cost.
    """
    house = _House(lots, use, made, costs)
    usual = house.follow(np.array([-1]), np.array([0.0]))
    lasts, up_tos = house.cases()
    tried = house.follow(lasts, up_tos)
    best = int(np.argmin(tried.cost))
    days, sizes = tried.last[best], tried.size[best]
    made_some = days >= 0
    likely = made_some.mean() >= 0.5
    return LastMaking(
        day=int(np.median(days[made_some])) if likely else None,
        size=float(sizes[made_some].mean()) if likely else 0.0,
        stop=None if lasts[best] == NEVER else int(lasts[best]),
        up_to=float(up_tos[best]),
        left=float(tried.left[best]),
        left_usual=float(usual.left[0]),
        lost=float(tried.lost[best]),
        lost_usual=float(usual.lost[0]),
        chance_short=float(tried.short[best]),
        saves=max(0.0, float(usual.cost[0] - tried.cost[best])),
    )


NEVER: Final = -2
"""In place of a day: nothing is made any more. Of -1: it is made as usual to the end."""


@dataclass(frozen=True)
class _Followed:
    cost: np.ndarray
    left: np.ndarray
    lost: np.ndarray
    short: np.ndarray
    last: np.ndarray
    """Cases by draws: day of the last making, -1 where there is none; and how much that is."""
    size: np.ndarray


class _House:
    """A preparation on its last days."""

    def __init__(self, lots: Sequence[Lot], use: np.ndarray, made: Made, costs: Costs) -> None:
        self.use, self.made, self.costs = use, made, costs
        days = use.shape[1]
        # What is good beyond the end is told from what passes its use-by on the last day.
        self.keeps = min(made.keeps, days + 1)
        self.shelf = np.zeros(max([self.keeps, *(min(lot.days, days + 1) for lot in lots)]))
        for lot in lots:
            if lot.days > 0:
                self.shelf[min(lot.days, days + 1) - 1] += lot.amount
        self.to_come = use[:, ::-1].cumsum(axis=1)[:, ::-1]
        """Draws by days: use from each day to the end."""
        most = max(made.most, float(np.quantile(use[:, : made.next_making].sum(axis=1), FULL)))
        self.way = making_way(
            MakingDays(
                use=np.concatenate([use] * (1 + 28 // days), axis=1),
                keeps=self.keeps,
                next_making=made.next_making,
                step=made.step,
                most=most,
                costs=costs,
            )
        )

    def cases(self) -> tuple[np.ndarray, np.ndarray]:
        """Last making days and amounts to try, and to make nothing any more."""
        ratio = self.costs.short / max(self.costs.short + self.costs.waste, 1e-12)
        chances = sorted({*CHANCES, min(max(ratio, 0.01), 0.995)})
        lasts, up_tos = [NEVER], [0.0]
        for day in range(0, self.use.shape[1], self.made.next_making):
            for amount in np.quantile(self.to_come[:, day], chances, method="inverted_cdf"):
                lasts.append(day)
                up_tos.append(float(amount))
        return np.array(lasts), np.array(up_tos)

    def follow(self, lasts: np.ndarray, up_tos: np.ndarray) -> _Followed:
        """Follow each case to the end; money, what is left and what runs out are means over the draws."""
        draws, days = self.use.shape
        shelf = Shelf(self.shelf, len(self.shelf), (len(lasts), draws))
        money, lost, size, short = (np.zeros((len(lasts), draws)) for _ in range(4))
        last = np.full((len(lasts), draws), -1)
        for day in range(days):
            if day % self.made.next_making == 0:
                amount = self._made(shelf, day, lasts, up_tos)
                shelf.put(self.keeps, amount)
                money += self.costs.making * (amount > 0)
                last[amount > 0], size = day, np.where(amount > 0, amount, size)
            missing, gone = shelf.pass_a_day(self.use[:, day])
            money += self.costs.short * missing
            lost += gone
            short += missing > 1e-9
        left = shelf.total()
        lost += left
        money += self.costs.waste * lost
        return _Followed(money.mean(axis=1), left.mean(axis=1), lost.mean(axis=1), (short > 0).mean(axis=1), last, size)

    def _made(self, shelf: Shelf, day: int, lasts: np.ndarray, up_tos: np.ndarray) -> np.ndarray:
        """What each case makes on a making day."""
        there, usual = shelf.total(), self.way.made(day, shelf)
        usual_to_end = np.minimum(usual, self._up_to(there, np.quantile(self.to_come[:, day], COVERED)))
        last = self._up_to(there, up_tos[:, None])
        before, now = (lasts > day)[:, None], (lasts == day)[:, None]
        as_usual = (lasts == -1)[:, None]
        return np.where(as_usual, usual, np.where(before, usual_to_end, np.where(now, last, 0.0)))

    def _up_to(self, there: np.ndarray, amount: np.ndarray) -> np.ndarray:
        """What has to be made, in whole steps, for so much to be there."""
        return np.asarray(np.ceil(np.maximum(amount - there, 0.0) / self.made.step - 1e-6) * self.made.step)
