"""The menu with the most money left after its preparations are paid for, the next best ones, and how firm that is.

The programme of `menu_programme` puts sets forward, best first; each is scored again by the unsimplified plan, which
decides. Sets are asked for until none that is left could overtake the best, by what the programme has been seen to be
off, or `MOST` have been scored.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from stillroom.analysis.demand.levels import WEEK
from stillroom.analysis.next_menu.candidates import Candidates, Limits, Scored
from stillroom.analysis.next_menu.cost_curves import Curve, cost_curves, most_factor
from stillroom.analysis.next_menu.menu_programme import Programme
from stillroom.words import listed

NEXT_BEST: Final = 10
ROUNDS: Final = 4
"""Times that the programme is put into a line anew, at most."""
MOST: Final = 20
"""Sets that are scored by the unsimplified plan, at most."""
REDRAWN: Final = 200
HOUR: Final = 60.0


@dataclass(frozen=True, kw_only=True)
class Menu:
    """A set of drinks with what it comes to."""

    chosen: tuple[int, ...]
    scored: Scored
    programme: float
    """What the programme made of it."""


@dataclass(frozen=True, kw_only=True)
class Price:
    """What a limit costs."""

    limit: str
    """The change of it, in words."""
    more: float | None
    """Money a week that the best menu leaves more with it; None where there is none."""


@dataclass(frozen=True, kw_only=True)
class Choice:
    """The best menu and what surrounds it."""

    best: Menu
    next_best: tuple[Menu, ...]
    prices: tuple[Price, ...]
    firm: np.ndarray
    """For each drink, in what part of the redrawn demands it is in the best set."""


def choose(found: Candidates, limits: Limits) -> Choice | None:
    """Choose a menu; None where no set keeps to the limits."""
    judge = Judge(found, cost_curves(found, most_factor(found, limits.drinks)))
    about = _settled(judge, limits)
    if about is None:
        return None
    programme = Programme(found, judge.curves, about)
    menus = _ranked(judge, programme, limits)
    if not menus:
        return None
    return Choice(
        best=menus[0],
        next_best=tuple(menus[1 : NEXT_BEST + 1]),
        prices=tuple(_prices(judge, programme, limits, menus[0])),
        firm=_firm(judge, limits, menus),
    )


def _settled(judge: Judge, limits: Limits) -> np.ndarray | None:
    """The menu about which the programme is put into a line: that which it gives about itself, as near as it gets."""
    found, weekly = judge.found, judge.found.weekly
    about = (np.arange(len(found.names)) < found.today).astype(float)
    seen: list[np.ndarray] = []
    for _ in range(ROUNDS):
        solution = Programme(found, judge.curves, about).solve(limits)
        if solution is None:
            return None
        about = judge.climbed(judge.row(solution.chosen), weekly, limits)
        if any((about == one).all() for one in seen):
            break
        seen.append(about)
    return max(seen, key=lambda one: float(judge.value(one[None], weekly, limits)[0]))


def _ranked(judge: Judge, programme: Programme, limits: Limits) -> list[Menu]:
    """Sets put forward by the programme, best first by the plan."""
    found = judge.found
    menus: list[Menu] = []
    seen: list[tuple[int, ...]] = []
    while len(seen) < MOST:
        solution = programme.solve(limits, seen)
        if solution is None:
            break
        if len(menus) > NEXT_BEST:
            off = max(0.0, *(menu.scored.left - menu.programme for menu in menus))
            if solution.value + off < max(menu.scored.left for menu in menus):
                break
        seen.append(solution.chosen)
        scored = found.score(solution.chosen)
        if limits.minutes is None or scored.minutes <= limits.minutes:
            menus.append(Menu(chosen=solution.chosen, scored=scored, programme=solution.value))
    return sorted(menus, key=lambda menu: (-menu.scored.left, menu.chosen))


def _prices(judge: Judge, programme: Programme, limits: Limits, best: Menu) -> list[Price]:
    """What one more or one less of each limit would leave, by the curves."""
    weekly = judge.found.weekly
    start = judge.climbed(judge.row(best.chosen), weekly, limits)
    today = float(judge.value(start[None], weekly, limits)[0])
    prices = []
    for words, other in _other_limits(judge.found, limits):
        solution = programme.solve(other)
        more = None
        if solution is not None:
            menu = judge.climbed(judge.row(solution.chosen), weekly, other)
            more = float(judge.value(menu[None], weekly, other)[0]) - today
        prices.append(Price(limit=words, more=more if more is not None and np.isfinite(more) else None))
    return prices


def _other_limits(found: Candidates, limits: Limits) -> list[tuple[str, Limits]]:
    """Each limit a step tighter and a step looser, or gone."""
    names = found.names
    asked = [
        (f"{limits.drinks + step} drinks", replace(limits, drinks=limits.drinks + step))
        for step in (-1, 1)
        if 1 <= limits.drinks + step <= len(names)
    ]
    if (most := limits.preparations) is not None:
        asked += [(f"{most + step} preparations", replace(limits, preparations=most + step)) for step in (-1, 1)]
    if (minutes := limits.minutes) is not None:
        steps = [minutes + step for step in (-HOUR, HOUR) if minutes + step > 0]
        asked += [(f"{less / HOUR:g} hours of work", replace(limits, minutes=less)) for less in steps]
    for drink in limits.must:
        others = tuple(other for other in limits.must if other != drink)
        asked.append((f"{names[drink]} free to go", replace(limits, must=others)))
    for group in limits.one_of:
        others_of = tuple(other for other in limits.one_of if other != group)
        asked.append((f"any or none of {listed([names[d] for d in group])}", replace(limits, one_of=others_of)))
    return asked


# How firm ------------------------------------------------------------------------------------------------


def _firm(judge: Judge, limits: Limits, menus: Sequence[Menu]) -> np.ndarray:
    """How often each drink is in the best set when demand is redrawn.

    For each draw of the demand the sets found are taken for a start, and drinks are exchanged for others, one
    at a time, as long as that leaves more by the curves.
    """
    found = judge.found
    weekly = found.serves.mean(axis=1) * WEEK
    draws = np.random.default_rng(len(found.names)).integers(0, len(weekly), REDRAWN)
    counts = np.zeros(len(found.names))
    starts = np.array([judge.row(menu.chosen) for menu in menus])
    for draw in draws:
        first = starts[int(np.argmax(judge.value(starts, weekly[draw], limits)))]
        counts += judge.climbed(first, weekly[draw], limits)
    return np.asarray(counts / REDRAWN)


class Judge:
    """What sets leave by the curves, many at once."""

    def __init__(self, found: Candidates, curves: Sequence[Curve]) -> None:
        self.found, self.curves, self.whole = found, curves, found.whole

    def row(self, chosen: Sequence[int]) -> np.ndarray:
        """A set as a row of 0 and 1."""
        return np.isin(np.arange(len(self.found.names)), list(chosen)).astype(float)

    def value(self, sets: np.ndarray, weekly: np.ndarray, limits: Limits) -> np.ndarray:
        """Money left of each set (a row of 0 and 1) at this demand; minus infinity beyond the limits."""
        found, today = self.found, self.found.today
        stays = sets[:, :today] @ weekly[:today]
        new = sets[:, today:] @ weekly[today:]
        back = found.share * (weekly[:today].sum() - stays - new)
        factor = np.maximum(1 + np.divide(back, stays, out=np.zeros_like(stays), where=stays > 0), 0.0)
        serves = sets * weekly
        serves[:, :today] *= factor[:, None]
        amounts = serves @ self.whole
        money = serves @ found.earning.contribution
        minutes = np.zeros(len(sets))
        for place, curve in enumerate(self.curves):
            money -= np.interp(amounts[:, place], curve.amount, curve.cost)
            minutes += np.interp(amounts[:, place], curve.amount, curve.minutes)
        return np.where(self._within(sets, minutes, limits), money, -np.inf)

    def _within(self, sets: np.ndarray, minutes: np.ndarray, limits: Limits) -> np.ndarray:
        fits = sets[:, list(limits.must)].all(axis=1)
        if limits.preparations is not None:
            fits &= ((sets @ (self.whole > 0)) > 0).sum(axis=1) <= limits.preparations
        if limits.minutes is not None:
            fits &= minutes <= limits.minutes
        for group in limits.one_of:
            fits &= sets[:, list(group)].sum(axis=1) == 1
        return np.asarray(fits)

    def climbed(self, start: np.ndarray, weekly: np.ndarray, limits: Limits) -> np.ndarray:
        """The set that no exchange of one drink for another makes better."""
        best, value = start, float(self.value(start[None], weekly, limits)[0])
        while True:
            inside, outside = np.flatnonzero(best > 0), np.flatnonzero(best == 0)
            if not len(inside) or not len(outside):
                return best
            out, into = (axis.ravel() for axis in np.meshgrid(inside, outside))
            sets = np.repeat(best[None], len(out), axis=0)
            sets[np.arange(len(out)), out] = 0
            sets[np.arange(len(out)), into] = 1
            values = self.value(sets, weekly, limits)
            place = int(np.argmax(values))
            if values[place] <= value + 1e-9:
                return best
            best, value = sets[place], float(values[place])
