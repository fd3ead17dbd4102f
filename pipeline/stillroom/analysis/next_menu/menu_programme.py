"""Which drinks to put on: a mixed-integer linear programme, solved by HiGHS through SciPy.

With x_i whether drink i is on the menu, D_i its serves a week and c_i its contribution: guests of today's drinks that
are left out return in proportion, so that each of today's that stays sells g D_i, with K the serves of those that stay,
N of new ones put on, T of all on today's menu, and r the share of guests who return:

    g = (1 - r) + r (T - N) / K,    money = g sum(c_i D_i x_i over today's) + sum(c_j D_j x_j over new ones).

That is not linear in x. It is put into a line about a menu (its first-order expansion, as Dinkelbach 1967 does with a
ratio, Management Science 13:492, from memory), and again about the menu that this gives.

What a preparation costs at the demand its drinks share is a fixed sum, where it is needed at all, and a convex
piecewise linear one: the lower hull of its curve (`cost_curves`). So the programme never makes a menu out as worse than
its curves do, and what it puts forward is scored again by the plan. HiGHS: Huangfu & Hall 2018, Mathematical
Programming Computation 10:119.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from stillroom.analysis.next_menu.candidates import Candidates, Limits
from stillroom.analysis.next_menu.cost_curves import Curve, lower_hull

GAP: Final = 1e-6
"""Relative gap at which a solution counts as the best."""
SECONDS: Final = 10.0
"""The longest that a single solution may take; the best found by then is given."""
SLACK: Final = 1.03
"""Minutes of work may be over by this much here: the plan itself decides who keeps within them."""
Row = tuple[dict[int, float], float, float]
"""Column -> factor; the least and the most that the row may come to."""


@dataclass(frozen=True, kw_only=True)
class Solution:
    """The best set that the programme finds."""

    chosen: tuple[int, ...]
    value: float
    """Money left a week, by the programme."""


class Programme:
    """The programme of one house, put into a line about a menu.

    Args:
        about: a row of 0 and 1, the menu.
    """

    def __init__(self, found: Candidates, curves: Sequence[Curve], about: np.ndarray) -> None:
        self.found, self.hulls = found, [lower_hull(curve) for curve in curves]
        self.drinks = len(found.names)
        self.money, self.fixed, factor = _line(found, about)
        self.takes = (found.weekly * np.where(np.arange(self.drinks) < found.today, factor, 1.0))[:, None] * found.whole
        place = self.drinks
        self.used = slice(place, place + len(curves))
        place += len(curves)
        self.points: list[slice] = []
        for hull in self.hulls:
            self.points.append(slice(place, place + len(hull.amount)))
            place += len(hull.amount)
        self.size = place
        self._rows = [row for number in range(len(curves)) for row in self._preparation(number)]

    def solve(self, limits: Limits, but_not: Sequence[tuple[int, ...]] = ()) -> Solution | None:
        """The best set within limits that is none of some; None where there is none."""
        from scipy.optimize import Bounds, LinearConstraint, milp
        from scipy.sparse import csr_array

        rows = [*self._rows, *self._limits(limits), *(self._another(one) for one in but_not)]
        cells = [(number, column, value) for number, (row, _, _) in enumerate(rows) for column, value in row.items()]
        number, column, value = zip(*cells, strict=True)
        matrix = csr_array((value, (number, column)), shape=(len(rows), self.size))
        low, high = np.zeros(self.size), np.ones(self.size)
        low[list(limits.must)] = 1.0
        money = np.zeros(self.size)
        money[: self.drinks] = self.money
        for points, hull in zip(self.points, self.hulls, strict=True):
            money[points] = -hull.cost
        answer = milp(
            -money,
            integrality=(np.arange(self.size) < self.used.stop).astype(int),
            bounds=Bounds(low, high),
            constraints=LinearConstraint(matrix, [low for _, low, _ in rows], [high for _, _, high in rows]),
            options={"mip_rel_gap": GAP, "time_limit": SECONDS},
        )
        if answer.x is None:
            return None
        chosen = tuple(np.flatnonzero(answer.x[: self.drinks] > 0.5).tolist())
        return Solution(chosen=chosen, value=self.fixed - float(answer.fun))

    def _preparation(self, number: int) -> list[Row]:
        """That it is needed where a drink takes it, and costs what its hull says at the demand they share."""
        hull, points, used = self.hulls[number], self.points[number], self.used.start + number
        takers = np.flatnonzero(self.takes[:, number] > 0).tolist()
        rows: list[Row] = [({drink: 1.0, used: -1.0}, -np.inf, 0.0) for drink in takers]
        wanted = {points.start + n: -float(amount) for n, amount in enumerate(hull.amount)}
        rows.append((wanted | {drink: float(self.takes[drink, number]) for drink in takers}, -np.inf, 0.0))
        rows.append((dict.fromkeys(range(points.start, points.stop), 1.0) | {used: -1.0}, 0.0, 0.0))
        return rows

    def _limits(self, limits: Limits) -> list[Row]:
        rows: list[Row] = [(dict.fromkeys(range(self.drinks), 1.0), float(limits.drinks), float(limits.drinks))]
        if limits.preparations is not None:
            rows.append((dict.fromkeys(range(self.used.start, self.used.stop), 1.0), -np.inf, limits.preparations))
        if limits.minutes is not None:
            work = {
                points.start + n: float(minutes)
                for points, hull in zip(self.points, self.hulls, strict=True)
                for n, minutes in enumerate(hull.minutes)
            }
            rows.append((work, -np.inf, SLACK * limits.minutes))
        return rows + [(dict.fromkeys(group, 1.0), 1.0, 1.0) for group in limits.one_of]

    def _another(self, chosen: tuple[int, ...]) -> Row:
        """Not that set again."""
        row = {drink: -1.0 if drink in chosen else 1.0 for drink in range(self.drinks)}
        return row, 1.0 - len(chosen), np.inf


def _line(found: Candidates, about: np.ndarray) -> tuple[np.ndarray, float, float]:
    """Money for each drink, the sum that does not depend on them, and the factor g, about a menu."""
    weekly, earned, today = found.weekly, found.earning.contribution, found.today
    stays, new = about[:today] * weekly[:today], about[today:] * weekly[today:]
    total, kept = float(weekly[:today].sum()), float(stays.sum())
    if kept <= 0:
        return weekly * earned, 0.0, 1.0
    back = found.share * (total - float(new.sum())) / kept
    factor, mean = 1 - found.share + back, float(stays @ earned[:today]) / kept
    slope = np.concatenate([factor * earned[:today] - back * mean, earned[today:] - found.share * mean]) * weekly
    money = factor * float(stays @ earned[:today]) + float(new @ earned[today:])
    return slope, money - float(slope @ about), factor
