"""Where the guests of a drink go that is taken off: how many order another of the house's drinks.

When a drink leaves that sold D a week, the others sell r D more, if a share r of its guests stays with the house; when
one comes, they sell r D less. Each drink that came or went within the data gives an estimate: the step in the others'
serves over D, with an error from how their weeks scatter and from how the house may have drifted meanwhile. A step is
small beside that scatter, so one drink rarely says much; what they say together narrows the range that is stated.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

import numpy as np

from stillroom.analysis.demand.levels import WEEK
from stillroom.analysis.demand.sales_history import History
from stillroom.analysis.menu.weekly_money import scatter

WINDOW: Final = 6
"""Weeks looked at on either side, at most."""
LEAST_WEEKS: Final = 3
DRIFT: Final = 0.01
"""Standard deviation of the house's own step from week to week, as a part of its trade: a judgement, no source."""


def return_estimates(history: History) -> list[tuple[float, float]]:
    """An estimate of the share that stays, with its standard error, of each drink that came or went."""
    serves, per_day = history.serves, _scaled(history)
    found = []
    for place, day, went in _moves(serves):
        first, last = max(0, day - WINDOW * WEEK), min(history.days, day + WINDOW * WEEK)
        stayed = [
            other
            for other in range(serves.shape[1])
            if other != place and _there(serves[:, other], first) and _there(serves[:, other], last - 1, back=True)
        ]
        others = np.where(np.isnan(serves).all(axis=1), np.nan, np.nansum(per_day[:, stayed], axis=1))
        before = _weeks(others, range(day - WEEK, first - 1, -WEEK))
        after = _weeks(others, range(day, last - WEEK + 1, WEEK))
        own_days = per_day[first:day, place] if went else per_day[day:last, place]
        own = WEEK * float(np.nanmean(own_days)) if np.isfinite(own_days).any() else 0.0
        if min(len(before), len(after)) < LEAST_WEEKS or own <= 0 or not stayed:
            continue
        step = float(np.mean(after) - np.mean(before)) * (1 if went else -1)
        noise = sum((scatter(weeks) or float(np.std(weeks))) ** 2 / len(weeks) for weeks in (before, after))
        weeks = (len(before) + len(after)) / 2
        # Of two means of so many weeks side by side, where every week steps away from the one before it by chance.
        drift = (DRIFT * float(np.mean(before))) ** 2 * (2 * weeks**2 + 1) / (3 * weeks)
        error = (noise + drift) ** 0.5
        found.append((step / own, max(error, 1e-6) / own))
    return found


def _scaled(history: History) -> np.ndarray:
    """Serves of every drink a day with the weekday taken out; NaN when closed or not on the menu."""
    totals = history.totals
    mean = np.nanmean(totals) if np.isfinite(totals).any() else 0.0
    factor = np.ones(history.days)
    for weekday in range(WEEK):
        own = totals[history.weekdays == weekday]
        if mean > 0 and np.isfinite(own).any() and np.nanmean(own) > 0:
            factor[history.weekdays == weekday] = np.nanmean(own) / mean
    return np.asarray(history.serves / factor[:, None])


def _moves(serves: np.ndarray) -> Iterator[tuple[int, int, bool]]:
    """Drink, first day without it (or with it), and whether it went."""
    open_days = np.flatnonzero(~np.isnan(serves).all(axis=1))
    if not len(open_days):
        return
    for place in range(serves.shape[1]):
        on = np.flatnonzero(~np.isnan(serves[:, place]))
        if len(on) and on[0] - open_days[0] >= LEAST_WEEKS * WEEK:
            yield place, int(on[0]), False
        if len(on) and open_days[-1] - on[-1] >= LEAST_WEEKS * WEEK:
            yield place, int(on[-1]) + 1, True


def _there(own: np.ndarray, day: int, back: bool = False) -> bool:
    """Whether a drink is on the menu in the week that begins (or ends) with a day."""
    week = own[max(0, day - WEEK + 1) : day + 1] if back else own[day : day + WEEK]
    return bool(np.isfinite(week).any())


def _weeks(per_day: np.ndarray, starts: range) -> list[float]:
    """Serves of whole weeks, as of seven open days; weeks without an open day are left out."""
    weeks = [per_day[start : start + WEEK] for start in starts if start >= 0]
    return [WEEK * float(np.nanmean(week)) for week in weeks if len(week) == WEEK and np.isfinite(week).any()]
