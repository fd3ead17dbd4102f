"""Daily serves of one venue as a table of days by drinks, and the days ahead."""

from __future__ import annotations

import zlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from typing import Final

import numpy as np
import polars as pl

from stillroom.analysis.menu.days import menu_spans

LATELY: Final = 28
"""Days back that decide on which weekdays the venue is open and whether an undated drink is still on the menu."""

RARE: Final = 0.01
"""Silence less likely than this means that the venue was closed."""
FEW_LINES: Final = 4.65
"""Till lines on a weekday's mean day with a sale, below which silence is no surprise: a Poisson count that has this
mean where it is not 0 is 0 more often than `RARE`."""


@dataclass(frozen=True, kw_only=True)
class Calendar:
    """What the settings know of special days, past and to come."""

    closed: frozenset[date] = frozenset()
    events: Mapping[date, str] = field(default_factory=dict)
    """Day -> name of the event; days of one name are taken to be alike."""


@dataclass(frozen=True, kw_only=True)
class History:
    """Serves of every drink on every day, one venue."""

    first: date
    drinks: tuple[str, ...]
    serves: np.ndarray
    """Days by drinks; NaN on days the venue was closed or the drink not on the menu; never below 0."""
    events: tuple[str | None, ...]
    """For each day, the event's name."""

    @property
    def days(self) -> int:
        """How many calendar days it covers."""
        return len(self.serves)

    @property
    def totals(self) -> np.ndarray:
        """Serves of all drinks a day; NaN when closed."""
        return np.where(np.isnan(self.serves).all(axis=1), np.nan, np.nansum(self.serves, axis=1))

    @property
    def weekdays(self) -> np.ndarray:
        """0 = Monday, for each day."""
        return (self.first.weekday() + np.arange(self.days)) % 7

    @property
    def seed(self) -> int:
        """For draws: the same sales give the same draws."""
        return zlib.crc32(np.nan_to_num(self.serves, nan=-1.0).tobytes())

    def until(self, days: int) -> History:
        """The first `days` days of it."""
        return replace(self, serves=self.serves[:days], events=self.events[:days])

    def day(self, number: int) -> date:
        """The date of a day by its number; may lie beyond the history."""
        return self.first + timedelta(days=number)


def sales_history(
    daily: pl.DataFrame, spec: pl.DataFrame, venue: str, last_day: date, calendar: Calendar
) -> History | None:
    """The history of one venue up to `last_day`; None where it never sold a drink.

    A day without a single sale is a closed day, unless so little is sold on its weekday that silence is no surprise.

    Args:
        daily: venue, business_date, spec, serves, lines.
        spec: spec, kind, in_service_from, in_service_until.
    """
    here = daily.filter(pl.col("venue") == venue, pl.col("business_date") <= last_day)
    sold = here.filter(pl.col("serves") > 0)
    if sold.is_empty():
        return None
    first = min(sold["business_date"].to_list())
    here = here.filter(pl.col("business_date") >= first)  # something taken back before the first sale is no day of it
    spans = menu_spans(spec, here, first, last_day).filter(pl.col("spec").is_in(sold["spec"].unique().to_list()))
    drinks = tuple(spans["spec"])
    length = (last_day - first).days + 1
    table = np.full((length, len(drinks)), np.nan)
    open_days = sorted(_open_days(sold, first, length) - {(d - first).days for d in calendar.closed})
    column = {name: place for place, name in enumerate(drinks)}
    for name, begin, end in spans.select("spec", "first_day", "last_day").rows():
        on = [day for day in open_days if (begin - first).days <= day <= (end - first).days]
        table[on, column[name]] = 0.0
    summed = here.group_by("business_date", "spec").agg(pl.col("serves").sum())
    for day, name, serves in summed.select("business_date", "spec", "serves").rows():
        if name in column and not np.isnan(table[(day - first).days, column[name]]):
            table[(day - first).days, column[name]] = max(0.0, serves)
    events = tuple(calendar.events.get(first + timedelta(days=day)) for day in range(length))
    return History(first=first, drinks=drinks, serves=table, events=events)


def _open_days(sold: pl.DataFrame, first: date, length: int) -> set[int]:
    """Days, counted from the first, on which something was sold, and the silent days of weekdays that sell little.

    A weekday without any sale is one of those only where so long a silence could come about by chance.
    """
    days = sold.group_by("business_date").agg(pl.col("lines").sum())
    selling = {(day - first).days for day in days["business_date"]}
    weekday = (first.weekday() + np.arange(length)) % 7
    lines = np.zeros(length)
    lines[[(day - first).days for day in days["business_date"]]] = days["lines"]
    sales = np.bincount(weekday[sorted(selling)], minlength=7)
    quiet = (sales > 0) & (np.bincount(weekday, lines, minlength=7) < FEW_LINES * sales)
    weeks = np.bincount(weekday, minlength=7)
    if quiet.any():
        silent = 1 - sales[quiet].sum() / weeks[quiet].sum()
        quiet |= (sales == 0) & (silent**weeks > RARE)
    return selling | set(np.flatnonzero(quiet[weekday]).tolist())


@dataclass(frozen=True, kw_only=True)
class Ahead:
    """The days to forecast."""

    days: tuple[date, ...]
    on_menu: np.ndarray
    """Days by drinks: whether the venue is open and the drink on the menu."""
    events: tuple[str | None, ...]


def days_ahead(history: History, spec: pl.DataFrame, days: Sequence[date], calendar: Calendar) -> Ahead:
    """Which of the history's drinks will be on the menu on which of the days to come.

    Open: weekdays on which the venue was open on at least half of the last four, less the closed days of the settings;
    a day with an event is open. On the menu: a version in service on that day; an undated drink if it sold lately.
    """
    is_open = np.array([_open(history, day, calendar) for day in days])
    dated = spec.filter(pl.col("in_service_from").is_not_null() | pl.col("in_service_until").is_not_null())
    spans: dict[str, list[tuple[date, date]]] = {}
    for name, begin, end in dated.select("spec", "in_service_from", "in_service_until").rows():
        spans.setdefault(name, []).append((begin or date.min, end or date.max))
    lately = np.nansum(history.serves[-LATELY:], axis=0) > 0
    on_menu = np.zeros((len(days), len(history.drinks)), dtype=bool)
    for place, name in enumerate(history.drinks):
        for number, day in enumerate(days):
            served = any(begin <= day <= end for begin, end in spans[name]) if name in spans else bool(lately[place])
            on_menu[number, place] = served and is_open[number]
    return Ahead(days=tuple(days), on_menu=on_menu, events=tuple(calendar.events.get(day) for day in days))


def _open(history: History, day: date, calendar: Calendar) -> bool:
    if day in calendar.closed:
        return False
    if day in calendar.events:
        return True
    alike = np.flatnonzero(history.weekdays == day.weekday())[-4:]
    return bool(len(alike) and np.mean(~np.isnan(history.totals[alike])) >= 0.5)
