"""A mean week of a menu: what it sells and leaves over, and what its preparations waste and ask of work.

Every preparation is made by the prep list's own steady way for the demand that its drinks share (`steady_making`).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np

from stillroom.analysis.batches.making_way import Costs
from stillroom.analysis.batches.steady_making import Made, SteadyWeek, steady_week
from stillroom.analysis.demand.levels import WEEK
from stillroom.analysis.next_menu.assumption import HIGH, LOW
from stillroom.analysis.next_menu.takings import Takings

SEASON_WEEKS: Final = 13
"""Weeks over which money is told: a quarter of a year."""


@dataclass(frozen=True, kw_only=True)
class Preparation:
    """How a preparation is made and what it costs."""

    made: Made | None
    """None where neither its spec nor a batch says what a making gives or how long it keeps."""
    waste: float
    """Money for a unit thrown away."""
    making: float
    """Money for the work of a making."""
    minutes: float | None = None
    """Minutes of work a making; None where they are not known."""


@dataclass(frozen=True, kw_only=True)
class Earning:
    """What each drink brings a serve, house currency."""

    net: np.ndarray
    contribution: np.ndarray


@dataclass(frozen=True, kw_only=True)
class MenuWeek:
    """A mean week; every figure has a value for each draw."""

    drinks: np.ndarray
    """Draws by drinks: serves."""
    sales: np.ndarray
    contribution: np.ndarray
    """Sales less what is in the glass."""
    wasted: np.ndarray
    """Money poured away, at cost."""
    missed: np.ndarray
    """Contribution lost to running out."""
    makings: np.ndarray
    minutes: np.ndarray
    """Of the preparations whose minutes are known."""
    work: np.ndarray
    """Money for the work of all makings."""
    preparations: Mapping[str, SteadyWeek]
    """Of those that something is wanted of."""

    @property
    def serves(self) -> np.ndarray:
        """Of all drinks."""
        return np.asarray(self.drinks.sum(axis=1))

    @property
    def left(self) -> np.ndarray:
        """Money left over: contribution less what is poured away and missed. Work is told by itself."""
        return np.asarray(self.contribution - self.wasted - self.missed)


def menu_week(
    serves: np.ndarray,
    earning: Earning,
    takes: Takings,
    preparations: Mapping[str, Preparation],
    running_out: float,
) -> MenuWeek:
    """Work a menu out.

    Args:
        serves: draws by days by drinks, whole weeks.
        takes: what those drinks take.
        preparations: name -> how it is made, of all in `takes`.
        running_out: part of a drink's contribution that is lost when it cannot be served.
    """
    weekly = serves.sum(axis=1) * (WEEK / serves.shape[1])
    uses: list[np.ndarray] = []
    more = np.ones(len(takes.preparations))
    weeks: dict[str, SteadyWeek] = {}
    wasted, missed, makings, minutes, work = (np.zeros(len(serves)) for _ in range(5))
    worth = worth_of(weekly.mean(axis=0), earning, takes, running_out)
    for place, name in enumerate(takes.preparations):
        use = serves @ takes.straight[:, place]
        for outer in np.flatnonzero(takes.inner[:, place] > 0):
            use = use + takes.inner[outer, place] * more[outer] * uses[outer]
        uses.append(use)
        one = preparations[name]
        if one.made is None or not use.any():
            continue
        costs = Costs(waste=one.waste, short=float(worth[place]), making=one.making)
        week = weeks[name] = steady_week(use, one.made, costs)
        # What is poured away had to be made, too, and took as much of what goes into it.
        more[place] = 1 + float(week.wasted.mean() / max(week.used.mean(), 1e-12))
        wasted += one.waste * week.wasted
        missed += costs.short * week.short
        makings += week.makings
        minutes += (one.minutes or 0.0) * week.makings
        work += one.making * week.makings
    return MenuWeek(
        drinks=weekly,
        sales=weekly @ earning.net,
        contribution=weekly @ earning.contribution,
        wasted=wasted,
        missed=missed,
        makings=makings,
        minutes=minutes,
        work=work,
        preparations=weeks,
    )


def worth_of(weekly: np.ndarray, earning: Earning, takes: Takings, running_out: float) -> np.ndarray:
    """Contribution lost for each unit of a preparation that is wanted and not there.

    Args:
        weekly: mean serves of each drink.
    """
    inner = np.linalg.inv(np.eye(len(takes.preparations)) - takes.inner) if takes.preparations else takes.inner
    whole = takes.straight @ inner
    amount = weekly @ whole
    lost = (weekly * np.maximum(earning.contribution, 0.0)) @ (whole > 0)
    return np.asarray(running_out * np.divide(lost, amount, out=np.zeros_like(amount), where=amount > 0))


@dataclass(frozen=True, kw_only=True)
class Range:
    """A figure of a week on today's menu and on the changed one."""

    today: float
    today_low: float
    today_high: float
    then: float
    low: float
    high: float
    """Of the changed menu: 8 times in 10 it lies between them."""
    more: float
    more_low: float
    more_high: float
    """The changed menu less today's, both drawn alike."""


def range_of(today: np.ndarray, then: np.ndarray) -> Range:
    """Means and 80 % intervals over draws."""
    ends = [np.quantile(values, [LOW, HIGH]) for values in (today, then, then - today)]
    return Range(
        today=float(today.mean()),
        today_low=float(ends[0][0]),
        today_high=float(ends[0][1]),
        then=float(then.mean()),
        low=float(ends[1][0]),
        high=float(ends[1][1]),
        more=float((then - today).mean()),
        more_low=float(ends[2][0]),
        more_high=float(ends[2][1]),
    )
