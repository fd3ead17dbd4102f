"""What to make today of something that keeps for some days: the size that costs least, by simulation.

Today's making is chosen, from nothing to the largest size, on draws of the use until what is made today is past its
use-by; from the next making day on it is made by the way that costs least in the long run (`making_way`), which also
says what is left at the end is worth (a rollout: Bertsekas, Dynamic Programming and Optimal Control, ch. 6). What may
as well be made on the next making day is not made today: each size is tried on that day, too. With a keep of one day
that is the newsvendor's critical-ratio optimum.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from stillroom.analysis.batches.making_way import (
    FULL,
    MOST_SIZES,
    WEEK,
    Costs,
    MakingDays,
    MakingWay,
    follow,
    making_way,
    sizes_up_to,
)
from stillroom.analysis.batches.shelf import Shelf

LONGEST_KEEP: Final = 28
"""Usable days that are told apart; a batch that keeps longer is taken to keep this long."""
TRIFLE: Final = 0.02
"""Of the work of a making: what saves less is not made today. An assumption."""
DRAWS: Final = 2000
"""Draws that are looked at of what keeps for more than a week: over many days no rare one decides by itself."""
USUAL_DRAWS: Final = 100
"""Draws on which the way is followed for the size of its makings."""


@dataclass(frozen=True, kw_only=True)
class Lot:
    """Something on hand."""

    amount: float
    days: int
    """Days it may still be used, today included; 0 = past its use-by."""


@dataclass(frozen=True, kw_only=True)
class MakingPlan:
    """Today's making and what it rests on. Amounts in the preparation's unit, money over the days looked at."""

    size: float
    """How much to make today; 0 = nothing."""
    way: MakingWay
    """How it is made on the days after."""
    usual: float
    """The mean size of its makings."""
    expected_use: float
    """Until the next making day."""
    chance_short: float
    """That what is on hand runs out before the next making day."""
    sizes: tuple[float, ...]
    cost: tuple[float, ...]
    """Mean cost of making each size today, with what comes after, against an empty shelf then."""
    saves: float
    """What today's making saves against the best that can be done without; 0 where nothing is made."""


def making_plan(
    lots: Sequence[Lot],
    use: np.ndarray,
    *,
    keeps: int,
    next_making: int,
    step: float,
    costs: Costs,
    most: float = float("inf"),
) -> MakingPlan:
    """Choose today's making.

    Args:
        lots: what is on hand.
        use: draws by days of the use to come, today first.
        keeps: days a batch made today may be used, today included, at least 1.
        next_making: days from one making day to the next, at least 1.
        step: the smallest part of a making that may be made, in units.
        costs: what waste, running out and work cost.
        most: the most that is made at a time; raised to what the use until the next making day can ask for.
    """
    keeps = min(max(1, keeps), LONGEST_KEEP)
    use = use[: len(use) if keeps <= WEEK else DRAWS, : max(keeps + next_making, 2 * WEEK)]
    until_next = use[:, :next_making].sum(axis=1)
    # The chance of having enough that is worth its waste, were this the only making: no more is ever wanted than that
    # asks for, with room for what the draws do not show.
    ratio = min(max(costs.short / max(costs.short + costs.waste, 1e-12), FULL), 1.0 - 1.0 / len(use))
    most = max(most, float(np.quantile(until_next, ratio)))
    days = MakingDays(use=use, keeps=keeps, next_making=next_making, step=step, most=most, costs=costs)
    way = making_way(days)
    today = np.array([0.0, *sizes_up_to(min(most, float(np.quantile(use[:, :keeps].sum(axis=1), ratio))), step)])
    stock = _stock(lots, keeps)
    cost = _cost(days, way, stock, today)
    finer = _finer(today, int(np.argmin(cost)), step)
    if len(finer):
        order = np.argsort(np.concatenate([today, finer]))
        cost = np.concatenate([cost, _cost(days, way, stock, finer)])[order]
        today = np.concatenate([today, finer])[order]
    best = int(np.argmin(cost))
    if best > 0:
        around = today[max(1, best - 2) : best + 3]
        later = _cost(days, way, stock, np.zeros(len(around)), then=around)
        cost[0] = min(float(cost[0]), float(later.min()))
    lost = _missing(stock, use[:, :next_making])
    # The same made on the next making day would be fresher: today's saves no more than what is missing until then.
    saves = min(float(cost[0] - cost[best]), _worth(days, 0) * float(lost.mean()))
    if saves <= TRIFLE * costs.making:
        best, saves = 0, 0.0
    usual = follow(replace(days, use=use[:USUAL_DRAWS]), way)
    return MakingPlan(
        size=float(today[best]),
        way=way,
        usual=float(usual.made.sum() / max(usual.makings.sum(), 1.0)),
        expected_use=float(until_next.mean()),
        chance_short=float((lost > 1e-9).mean()),
        sizes=tuple(today.tolist()),
        cost=tuple(cost.tolist()),
        saves=saves,
    )


def _finer(sizes: np.ndarray, best: int, step: float) -> np.ndarray:
    """Sizes left out on either side of the best one, where they lie further apart than a step; at most `MOST_SIZES`."""
    low, high = (round(sizes[min(max(place, 0), len(sizes) - 1)] / step) for place in (best - 1, best + 1))
    inside = np.unique(np.linspace(low, high, MOST_SIZES + 2).round())[1:-1] * step
    return np.asarray(inside[~np.isclose(inside, sizes[best])])


def _worth(days: MakingDays, day: int) -> float:
    """What a unit that is missing on a day costs."""
    now = days.costs.short_now
    return days.costs.short if now is None or day >= days.next_making else now


def _cost(
    days: MakingDays, way: MakingWay, stock: np.ndarray, first: np.ndarray, then: np.ndarray | None = None
) -> np.ndarray:
    """Mean cost of each first making, with the way from then on.

    `then` says what is made on the making day after the first, in place of the way.
    """
    costs = days.costs
    use = days.use[:, : days.next_making].astype(np.float32)
    draws, length = use.shape
    shelf = Shelf(stock, max(len(stock), days.keeps), (len(first), draws), np.float32)
    total = np.zeros((len(first), draws))
    for day in range(length):
        if day % days.next_making == 0:
            if day == 0:
                made = np.broadcast_to(first[:, None], total.shape)
            elif day == days.next_making and then is not None:
                made = np.broadcast_to(then[:, None], total.shape)
            else:
                made = way.made(day, shelf)
            shelf.put(days.keeps, made)
            total += (costs.making + (costs.making_now if day == 0 else 0.0)) * (made > 0)
        short, wasted = shelf.pass_a_day(use[:, day])
        total += _worth(days, day) * short + costs.waste * wasted
    return np.asarray((total + way.to_come(length, shelf)).mean(axis=1))


def _stock(lots: Sequence[Lot], keeps: int) -> np.ndarray:
    """Amounts by days they may still be used: place 0 is today only; what keeps very long is put together."""
    stock = np.zeros(max([keeps, *(min(lot.days, LONGEST_KEEP) for lot in lots)]))
    for lot in lots:
        if lot.days > 0:
            stock[min(lot.days, LONGEST_KEEP) - 1] += lot.amount
    return stock


def _missing(stock: np.ndarray, use: np.ndarray) -> np.ndarray:
    """Per draw, what is missing over the days of use if nothing is made."""
    shelf = Shelf(stock, len(stock), (len(use),))
    return np.asarray(sum(shelf.pass_a_day(wanted)[0] for wanted in use.T))
