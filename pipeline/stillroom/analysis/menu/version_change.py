"""Did a new version sell more? Serves before and after, beside the drinks that stayed as they were.

A trend and a step look alike in a few weeks: the trend is held to what trends of this house's other drinks are like, as
a normal prior. Overdispersion widens the interval (quasi-likelihood, Student's t); see `rate_ratio`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from itertools import pairwise
from typing import Final

import numpy as np
import polars as pl

from stillroom.analysis.menu.days import menu_spans
from stillroom.analysis.menu.rate_ratio import fitted, rate_ratio, weeks_of

WINDOW: Final = 56
"""Days looked at on either side of the change, at most."""
LEAST_DAYS: Final = 10
LEAST_SERVES: Final = 30.0
LEAST_COMPARED: Final = 100.0
LEAST_DRIFT: Final = 0.01
"""Trend a week that any drink may have, however alike the others are."""


@dataclass(frozen=True, kw_only=True)
class Change:
    """A new version going into service."""

    spec: str
    kind: str
    old: int
    new: int
    day: date
    drinks: tuple[str, ...]
    """The drinks whose sales it can move: itself, or those that take the preparation."""
    price_before: float | None = None
    price_after: float | None = None

    @property
    def repriced(self) -> bool:
        """The menu price changed with the version."""
        return self.price_before is not None and self.price_after is not None and self.price_before != self.price_after


@dataclass(frozen=True, kw_only=True)
class Effect:
    """What a change did to serves."""

    change: Change
    before: float | None = None
    after: float | None = None
    """Serves per open day."""
    days_before: int = 0
    days_after: int = 0
    ratio: float | None = None
    low: float | None = None
    high: float | None = None
    """Rate ratio after over before, beside the comparison, with its 95 % interval."""
    compared: tuple[str, ...] = ()
    why_not: str = ""

    @property
    def expected(self) -> float | None:
        """Serves a day after, had the drink moved as those it is held against: what `ratio` is over."""
        return None if self.ratio is None or self.after is None else self.after / self.ratio

    @property
    def verdict(self) -> str:
        """In words."""
        if self.low is None or self.high is None:
            return "cannot tell"
        return "sells more" if self.low > 1 else "sells less" if self.high < 1 else "cannot tell"


def changes(spec: pl.DataFrame, preparation_use: pl.DataFrame, first: date, last: date) -> list[Change]:
    """New versions that went into service within first..last, after an earlier one.

    Args:
        spec: spec, version, kind, price, in_service_from.
        preparation_use: preparation, used_by.
    """
    takers: dict[str, set[str]] = {}
    for preparation, used_by in preparation_use.select("preparation", "used_by").unique().rows():
        takers.setdefault(preparation, set()).add(used_by)
    drinks = set(spec.filter(pl.col("kind") == "drink")["spec"])
    found = []
    dated = spec.filter(pl.col("in_service_from").is_not_null()).sort("in_service_from", "version")
    for (name,), rows in dated.group_by("spec", maintain_order=True):
        versions = list(rows.iter_rows(named=True))
        for old, new in pairwise(versions):
            if not first < new["in_service_from"] <= last or old["in_service_from"] == new["in_service_from"]:
                continue
            moved = {str(name)} if new["kind"] == "drink" else drinks_with(str(name), takers, drinks)
            change = Change(
                spec=str(name),
                kind=new["kind"],
                old=old["version"],
                new=new["version"],
                day=new["in_service_from"],
                drinks=tuple(sorted(moved)),
                price_before=old["price"],
                price_after=new["price"],
            )
            found.append(change)
    return sorted(found, key=lambda one: (one.day, one.spec))


def drinks_with(preparation: str, takers: dict[str, set[str]], drinks: set[str]) -> set[str]:
    """Drinks that take a preparation, straight or inside others."""
    seen, waiting = set[str](), [preparation]
    while waiting:
        for user in takers.get(waiting.pop(), set()) - seen:
            seen.add(user)
            waiting.append(user)
    return seen & drinks


def effect_of(change: Change, everything: Sequence[Change], daily: pl.DataFrame, spec: pl.DataFrame) -> Effect:
    """The effect of one change on the serves of its drinks.

    Args:
        everything: all changes, so that a comparison drink is none that changed in the same weeks.
        daily: business_date, spec, serves.
        spec: spec, kind, in_service_from, in_service_until.
    """
    days = daily["business_date"]
    if not len(days) or not change.drinks:
        return Effect(change=change, why_not="no drink takes it")
    own = [one.day for one in everything if set(one.drinks) & set(change.drinks) and one.day != change.day]
    first = max([change.day - timedelta(days=WINDOW), min(days.to_list()), *(day for day in own if day < change.day)])
    last = min([change.day + timedelta(days=WINDOW - 1), max(days.to_list()), *(d for d in own if d > change.day)])
    window = daily.filter(pl.col("business_date").is_between(first, last))
    compared = _comparison(change, everything, window, spec, first, last)
    table = _by_day(window, change.drinks, compared)
    after = np.array([day >= change.day for day in table["business_date"]], dtype=float)
    own_serves, others = table["own"].to_numpy(), table["others"].to_numpy()
    n_after, n_before = int(after.sum()), int(len(after) - after.sum())
    base = Effect(
        change=change,
        before=float(own_serves[after == 0].mean()) if n_before else None,
        after=float(own_serves[after == 1].mean()) if n_after else None,
        days_before=n_before,
        days_after=n_after,
        compared=tuple(compared),
    )
    why_not = _too_little(own_serves, others, after)
    if why_not:
        return replace(base, why_not=why_not)
    drift = house_drift(window, compared)
    ratio, low, high = rate_ratio(own_serves, others, after, table["business_date"].to_list(), drift)
    return replace(base, ratio=ratio, low=low, high=high)


def _comparison(
    change: Change, everything: Sequence[Change], window: pl.DataFrame, spec: pl.DataFrame, first: date, last: date
) -> list[str]:
    """Drinks on the menu all through the window that did not change in it."""
    moved = {drink for one in everything if first <= one.day <= last for drink in one.drinks}
    spans = menu_spans(spec, window, first, last)
    sold = window.filter(pl.col("serves") > 0)["spec"].unique().to_list()
    margin = timedelta(days=7)
    return [
        name
        for name, begin, end in spans.select("spec", "first_day", "last_day").rows()
        if name in sold and name not in moved and name not in change.drinks
        and begin <= first + margin and end >= last - margin
    ]  # fmt: skip


def _by_day(window: pl.DataFrame, drinks: Sequence[str], compared: Sequence[str]) -> pl.DataFrame:
    own, others = pl.col("spec").is_in(list(drinks)), pl.col("spec").is_in(list(compared))
    return (
        window.group_by("business_date")
        .agg(
            pl.col("serves").filter(own).sum().clip(0).alias("own"),
            pl.col("serves").filter(others).sum().clip(0).alias("others"),
        )
        .filter(pl.col("own") + pl.col("others") > 0)
        .sort("business_date")
    )


def _too_little(own: np.ndarray, others: np.ndarray, after: np.ndarray) -> str:
    days = int((after == 0).sum()), int((after == 1).sum())
    if min(days) < LEAST_DAYS:
        return f"{days[0]} open days before and {days[1]} after, at least {LEAST_DAYS} of each needed"
    serves = float(own[after == 0].sum()), float(own[after == 1].sum())
    if min(serves) < LEAST_SERVES:
        return f"{serves[0]:.0f} serves before and {serves[1]:.0f} after, at least {LEAST_SERVES:.0f} of each needed"
    if min(float(others[after == side].sum()) for side in (0, 1)) < LEAST_COMPARED:
        return "too few serves of drinks that stayed as they were"
    return ""


def house_drift(window: pl.DataFrame, drinks: Sequence[str]) -> float:
    """Standard deviation of the drinks' trends a week beside each other, less sampling error (by moments)."""
    trends, noise = [], []
    for drink in drinks:
        table = _by_day(window, [drink], [other for other in drinks if other != drink])
        own, others = table["own"].to_numpy(), table["others"].to_numpy()
        if own.sum() < LEAST_SERVES or others.sum() < LEAST_COMPARED or len(own) < 2 * LEAST_DAYS:
            continue
        weeks = weeks_of(table["business_date"].to_list())
        slope, error, _ = fitted(own, others, np.column_stack([weeks, np.ones(len(weeks))]), np.zeros(2))
        trends.append(slope)
        noise.append(error**2)
    if len(trends) < 3:
        return 2 * LEAST_DRIFT
    between = float(np.mean(np.square(trends)) - np.mean(noise))
    return float(max(LEAST_DRIFT, max(0.0, between) ** 0.5))
