"""What was on hand of a preparation at the end of each day, as its batches were used one after another."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Final

import polars as pl

NEVER: Final = date.max


def stock_course(fate: pl.DataFrame, use: pl.DataFrame, first: date, last: date) -> list[tuple[date, float]]:
    """The amount on hand at the end of each day, first made first used, none after its use-by.

    Each batch gives no more than the store says was used of it; what is lost of it leaves on the day it ended, or after
    its last day. Batches of several venues are taken together.

    Args:
        fate: rows of `batch_fate` of one preparation.
        use: business_date, amount: what drinks and makings took of it.
        first, last: the days to look at; batches made before count too.
    """
    batches = [_Lot(row) for row in fate.sort("made_on", "batch").iter_rows(named=True)]
    if not batches:
        return []
    taken = dict(use.group_by("business_date").agg(pl.col("amount").sum()).iter_rows())
    day, course = min(batch.made_on for batch in batches), []
    while day <= last:
        wanted = float(taken.get(day, 0.0))
        for batch in batches:
            if batch.made_on <= day:
                wanted -= batch.give(wanted, day)
        if day >= first:
            course.append((day, sum(batch.left(day) for batch in batches)))
        day += timedelta(days=1)
    return course


class _Lot:
    """A batch as it goes down."""

    def __init__(self, row: dict[str, object]) -> None:
        made_on, ended, use_by = row["made_on"], row["ended_on"], row["use_by"]
        assert isinstance(made_on, date)
        self.made_on = made_on
        self.amount = float(row["made"])  # type: ignore[arg-type]
        self.may_give = float(row["used"])  # type: ignore[arg-type]
        last = [day for day in (ended, use_by) if isinstance(day, date)]
        self.gone_after = min(last) if last else NEVER
        self.ended = ended if isinstance(ended, date) else None

    def give(self, wanted: float, day: date) -> float:
        if day > self.gone_after or wanted <= 0:
            return 0.0
        given = min(wanted, self.may_give)
        self.may_give -= given
        self.amount -= given
        return given

    def left(self, day: date) -> float:
        over = self.ended is not None and day >= self.ended
        return 0.0 if over or day < self.made_on or day > self.gone_after else self.amount
