"""Every roll-out of the days looked at, with what it did."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

import numpy as np
import polars as pl

from stillroom.analysis.holm import holm
from stillroom.analysis.houses.adoption import rolled_out, served, without
from stillroom.analysis.houses.rollout import LEVEL, NEVER, Panel, Rollout, rollout
from stillroom.objects import Period


@dataclass(frozen=True, kw_only=True)
class Effect:
    """One new version that came to houses at their own times."""

    spec: str
    kind: str
    version: int
    found: Rollout
    without: tuple[str, ...] = ()
    """Houses that have an earlier version still."""
    p_value: float | None = None
    """Corrected for the number of roll-outs looked at (Holm)."""

    @property
    def name(self) -> str:
        """The roll-out in words."""
        return f"{self.spec}, version {self.version}"

    @property
    def verdict(self) -> str:
        """In words; 'cannot tell' where several roll-outs together explain it."""
        return self.found.verdict if self.p_value is not None and self.p_value <= LEVEL else "cannot tell"

    @property
    def helped(self) -> bool | None:
        """Sold more, or lost less; None where it cannot be told."""
        good = "more" if self.kind == "drink" else "less"
        return None if self.verdict == "cannot tell" else self.verdict == good


def effects(spans: pl.DataFrame, weeks: pl.DataFrame, period: Period) -> list[Effect]:
    """What each version did that came to at least one house within the period.

    Args:
        spans, weeks: the views `version_spans` and `rollout_weeks`.
    """
    found = []
    for kind in ("drink", "preparation"):
        own = spans.filter(pl.col("kind") == kind)
        for spec, version in rolled_out(own).filter(pl.col("last_day") > period.first).select("spec", "version").rows():
            rows = weeks.filter(pl.col("kind") == kind, pl.col("spec") == spec)
            found.append(
                Effect(
                    spec=spec,
                    kind=kind,
                    version=version,
                    found=_rollout(rows, own, spec, version),
                    without=tuple(without(own, spec, version)),
                )
            )
    known = [one.found.p_value for one in found if one.found.p_value is not None]
    corrected = iter(holm(known).tolist() if known else ())
    return [one if one.found.p_value is None else replace(one, p_value=next(corrected)) for one in found]


def _rollout(rows: pl.DataFrame, spans: pl.DataFrame, spec: str, version: int) -> Rollout:
    if rows.is_empty():
        return Rollout(why_not="nothing to hold it against was sold beside it")
    days = served(spans, spec, version).join(rows.select("house").unique(), on="house", how="semi").sort("house")
    weeks = sorted(set(rows["week"].to_list()))
    begin, came, end = (np.array([_place(day, weeks) for day in days[name]]) for name in ("begin", "day", "end"))
    line = {house: at for at, house in enumerate(days["house"])}
    place = {week: at for at, week in enumerate(weeks)}
    counts, exposure = np.zeros((2, len(line), len(weeks)))
    for house, week, counted, over in rows.select("house", "week", "counted", "exposure").iter_rows():
        if house in line:
            counts[line[house], place[week]], exposure[line[house], place[week]] = counted, over
    # Weeks of yet other versions say nothing of this one; nor does a house that had it before the first week.
    at = np.arange(len(weeks))
    exposure[(at < begin[:, None]) | (at >= end[:, None])] = 0.0
    seen = came >= 0
    return rollout(Panel(counts=counts[seen], exposure=exposure[seen], served=came[seen]))


def _place(day: date | None, weeks: Sequence[date]) -> int:
    """The place of a day's week among the weeks; -1 of one before them, `NEVER` of none, or of one after them."""
    if day is None or day > weeks[-1] + timedelta(days=6):
        return NEVER
    return bisect_right(weeks, day) - 1
