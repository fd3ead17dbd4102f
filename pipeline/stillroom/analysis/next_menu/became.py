"""What became of a verdict: how its subject sold, or what of it was lost, before and after."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any, Final

import polars as pl

from stillroom.names import name_key
from stillroom.objects import MenuVerdict
from stillroom.words import number, percent, short_day

WINDOW: Final = 28
"""Days before a verdict, and the last ones there are, that are held against one another."""


def became(verdict: MenuVerdict, daily: pl.DataFrame, spec: pl.DataFrame, fate: pl.DataFrame, last: date) -> str:
    """In a few words; '' where the data do not reach beyond the verdict.

    Args:
        daily: spec, business_date, serves.
        spec: spec, version, in_service_from.
        fate: preparation, made_on, made, on_hand, poured_away, spoiled, left_at_use_by.
        last: last day looked at.
    """
    if last <= verdict.day:
        return ""
    own = pl.col("spec").str.to_lowercase() == name_key(verdict.subject)
    new = spec.filter(own, pl.col("in_service_from") > verdict.day, pl.col("in_service_from") <= last)
    versions = f"version {max(new['version'].to_list())} since; " if new.height else ""
    sold = daily.filter(own, pl.col("serves") > 0, pl.col("business_date") <= last)
    if sold.height:
        return versions + _sales(sold, verdict.day, last)
    made = fate.filter(pl.col("preparation").str.to_lowercase() == name_key(verdict.subject), pl.col("made_on") <= last)
    return versions + _made(made, verdict.day) if made.height else versions.removesuffix("; ")


def _sales(sold: pl.DataFrame, day: date, last: date) -> str:
    ended: Any = sold["business_date"].max()
    if ended <= last - timedelta(days=7):
        return f"off since {short_day(ended)}"
    before, after = (
        float(sold.filter(pl.col("business_date").is_between(end - timedelta(days=WINDOW - 1), end))["serves"].sum())
        for end in (day, last)
    )
    return f"{number(before * 7 / WINDOW)} serves a week then, {number(after * 7 / WINDOW)} lately"


def _made(made: pl.DataFrame, day: date) -> str:
    before, after = made.filter(pl.col("made_on") <= day), made.filter(pl.col("made_on") > day)
    if after.is_empty():
        return "not made since"
    shares = [share for share in (_lost(before), _lost(after)) if share is not None]
    if len(shares) < 2:
        return "made since"
    return f"{percent(shares[0])} lost then, {percent(shares[1])} since"


def _lost(made: pl.DataFrame) -> float | None:
    gone = float(made["made"].sum()) - float(made["on_hand"].sum())
    lost = sum(float(made[name].sum()) for name in ("poured_away", "spoiled", "left_at_use_by"))
    return lost / gone if gone > 0 else None
