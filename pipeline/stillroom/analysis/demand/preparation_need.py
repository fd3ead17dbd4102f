"""From serves to preparations: how much of each a serve takes, straight and inside other preparations."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import timedelta
from typing import Final

import numpy as np
import polars as pl

LATELY: Final = 90
"""Days back from which the makings of outer preparations are looked at."""
DEEPEST: Final = 8
"""Levels of preparations inside preparations that are followed."""


@dataclass(frozen=True, kw_only=True)
class PreparationNeed:
    """What serves and makings take."""

    preparations: tuple[str, ...]
    units: tuple[str, ...]
    straight: np.ndarray
    """Drinks by preparations: amount a serve takes from the preparation's own stock."""
    inner: np.ndarray
    """Preparations by preparations: amount of the second that one unit of the first takes when it is made."""

    @property
    def whole(self) -> np.ndarray:
        """Drinks by preparations: amount a serve takes in the end, through all that is made for it."""
        total, level = self.straight.copy(), self.straight
        for _ in range(DEEPEST):
            level = level @ self.inner
            total = total + level
        return total


def preparation_need(
    preparation_use: pl.DataFrame, daily: pl.DataFrame, batch_fate: pl.DataFrame, drinks: Sequence[str]
) -> PreparationNeed:
    """Amounts a serve and a making take, as they were lately.

    A drink takes what it took on the last day it sold; an outer preparation what its makings of the last `LATELY` days
    took for each unit made.

    Args:
        preparation_use: business_date, preparation, used_by, amount, unit.
        daily: business_date, spec, serves.
        batch_fate: preparation, made_on, made.
    """
    units = dict(
        preparation_use.group_by("preparation").agg(pl.col("unit").mode().sort().first()).sort("preparation").rows()
    )
    names = tuple(units)
    use = preparation_use.filter(pl.col("unit") == pl.col("preparation").replace_strict(units, return_dtype=pl.String))
    place = {name: number for number, name in enumerate(names)}
    straight = np.zeros((len(drinks), len(names)))
    row = {name: number for number, name in enumerate(drinks)}
    for drink, preparation, amount in _by_serve(use, daily).rows():
        if drink in row:
            straight[row[drink], place[preparation]] = amount
    inner = np.zeros((len(names), len(names)))
    for outer, preparation, amount in _by_unit_made(use, batch_fate).rows():
        if outer in place and outer != preparation:
            inner[place[outer], place[preparation]] = amount
    return PreparationNeed(preparations=names, units=tuple(units.values()), straight=straight, inner=inner)


def _by_serve(use: pl.DataFrame, daily: pl.DataFrame) -> pl.DataFrame:
    """used_by, preparation, amount a serve, on each drink's last day of sale."""
    serves = daily.group_by("spec", "business_date").agg(pl.col("serves").sum()).filter(pl.col("serves") > 0)
    last = serves.filter(pl.col("business_date") == pl.col("business_date").max().over("spec"))
    return (
        use.group_by("used_by", "preparation", "business_date")
        .agg(pl.col("amount").sum())
        .join(last, left_on=["used_by", "business_date"], right_on=["spec", "business_date"])
        .select("used_by", "preparation", pl.col("amount") / pl.col("serves"))
    )


def _by_unit_made(use: pl.DataFrame, batch_fate: pl.DataFrame) -> pl.DataFrame:
    """used_by, preparation, amount for each unit made of the outer one."""
    made = batch_fate.group_by("preparation", "made_on").agg(pl.col("made").sum())
    if made.is_empty():
        return pl.DataFrame(schema={"used_by": pl.String, "preparation": pl.String, "amount": pl.Float64})
    since = max(made["made_on"].to_list()) - timedelta(days=LATELY)
    return (
        use.filter(pl.col("business_date") >= since)
        .group_by("used_by", "preparation", "business_date")
        .agg(pl.col("amount").sum())
        .join(made, left_on=["used_by", "business_date"], right_on=["preparation", "made_on"])
        .group_by("used_by", "preparation")
        .agg(pl.col("amount").sum() / pl.col("made").sum())
    )
