"""What a preparation costs a week as a function of how much of it is wanted: piecewise linear, from its own plan.

The points lie where sets of the drinks that take it put them: with up to three such drinks each set has a point of its
own, so that the curve says what the plan says; with more, single drinks and those added up from both ends do.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations
from typing import Final

import numpy as np

from stillroom.analysis.batches.making_way import Costs
from stillroom.analysis.batches.steady_making import steady_week
from stillroom.analysis.demand.levels import WEEK
from stillroom.analysis.next_menu.candidates import Candidates

EVERY_SET: Final = 3
"""Drinks of which every set has a point."""
POINTS: Final = 7
"""Points of a curve, at most, besides that of nothing."""
NEAR: Final = 1e-6
BEYOND: Final = 9.0
"""How many times the last amount the last line goes on: a small menu may draw the guests of a large one."""


@dataclass(frozen=True, kw_only=True)
class Curve:
    """A preparation's week by the amount wanted: points from nothing upward, straight lines between."""

    amount: np.ndarray
    cost: np.ndarray
    """Money for waste, running out and work."""
    minutes: np.ndarray
    """Of work; 0 where they are not known."""


def lower_hull(curve: Curve) -> Curve:
    """The convex curve below one, from the fixed sum at next to nothing on: the lower hull of its points above nothing.

    >>> one = Curve(amount=np.array([0.0, 1, 2, 3]), cost=np.array([0.0, 5, 9, 11]), minutes=np.zeros(4))
    >>> lower_hull(one).amount.tolist(), lower_hull(one).cost.tolist()
    ([0.0, 1.0, 3.0], [2.0, 5.0, 11.0])
    """
    points = list(range(1, len(curve.amount)))
    hull: list[int] = []
    for n in points:
        while len(hull) > 1 and _above(curve, hull[-2], hull[-1], n):
            hull.pop()
        hull.append(n)
    first, second = hull[0], hull[min(1, len(hull) - 1)]
    step = max(float(curve.amount[second] - curve.amount[first]), 1e-12)
    fixed = [
        float(np.clip(v[first] - (v[second] - v[first]) * curve.amount[first] / step, 0.0, v[first]))
        for v in (curve.cost, curve.minutes)
    ]
    return Curve(
        amount=np.concatenate([[0.0], curve.amount[hull]]),
        cost=np.concatenate([[fixed[0]], curve.cost[hull]]),
        minutes=np.concatenate([[fixed[1]], curve.minutes[hull]]),
    )


def _above(curve: Curve, left: int, middle: int, right: int) -> bool:
    """Whether the middle point lies on or above the line between the others."""
    part = (curve.amount[middle] - curve.amount[left]) / (curve.amount[right] - curve.amount[left])
    return bool(curve.cost[middle] >= curve.cost[left] + part * (curve.cost[right] - curve.cost[left]))


def most_factor(found: Candidates, drinks: int) -> float:
    """How many times more today's drinks may sell, when the guests of the others come to a menu of small ones."""
    if found.share <= 0:
        return 1.0
    today = np.sort(found.weekly[: found.today])
    kept = max(1, drinks - (len(found.names) - found.today))
    part = float(np.quantile(today, 0.25)) * kept / max(float(today.sum()), 1e-9)
    return 1.0 + found.share * max(0.0, 1 / max(part, 1e-9) - 1)


def cost_curves(found: Candidates, most_factor: float) -> list[Curve]:
    """The curve of every preparation.

    Args:
        most_factor: how many times more a drink may sell when guests of others come to it.
    """
    weekly, whole = found.weekly, found.whole
    return [_curve(found, place, weekly, whole[:, place], most_factor) for place in range(whole.shape[1])]


def _curve(found: Candidates, place: int, weekly: np.ndarray, takes: np.ndarray, most_factor: float) -> Curve:
    one = found.preparations[found.takes.preparations[place]]
    users = sorted(np.flatnonzero(takes * weekly > 0).tolist(), key=lambda drink: float(takes[drink] * weekly[drink]))
    none = Curve(amount=np.array([0.0, 1.0]), cost=np.zeros(2), minutes=np.zeros(2))
    if one.made is None or not users:
        return none
    lost = np.maximum(found.earning.contribution[users], 0.0) @ weekly[users]
    short = found.running_out * float(lost / (takes[users] @ weekly[users]))
    costs = Costs(waste=one.waste, short=short, making=one.making)
    points = {0.0: (0.0, 0.0)}
    for drinks, factor in _sets(users, most_factor):
        use = found.serves[:, :, drinks] @ takes[drinks] * factor
        week = steady_week(use, one.made, costs)
        points[float(use.mean()) * WEEK] = (
            float(week.cost(costs).mean()),
            (one.minutes or 0.0) * float(week.makings.mean()),
        )
    amounts = sorted(points)
    kept = [amount for n, amount in enumerate(amounts) if not n or amount - amounts[n - 1] > NEAR * amounts[-1]]
    return _gone_on(np.array([[amount, *points[amount]] for amount in kept]))


def _gone_on(points: np.ndarray) -> Curve:
    """The curve through some points, whose last line goes on."""
    far = points[-1] + BEYOND * points[-1, 0] / (points[-1, 0] - points[-2, 0]) * (points[-1] - points[-2])
    amount, cost, minutes = np.concatenate([points, [np.maximum(far, points[-1])]]).T
    return Curve(amount=amount, cost=cost, minutes=minutes)


def _sets(users: list[int], most_factor: float) -> list[tuple[list[int], float]]:
    """Sets of drinks whose demand has a point, with what it is multiplied by; the least demand first."""
    if len(users) <= EVERY_SET:
        sets = [list(one) for size in range(1, len(users) + 1) for one in combinations(users, size)]
    else:
        both = [users[:size] for size in range(1, len(users) + 1)] + [users[-size:] for size in range(1, len(users))]
        spread = np.linspace(0, len(both) - 1, POINTS - 1).round().astype(int)
        sets = [both[number] for number in sorted({*spread.tolist(), len(users) - 1})]
    found = [(one, 1.0) for one in sets]
    return [*found, (users, most_factor)] if most_factor > 1 + NEAR else found
