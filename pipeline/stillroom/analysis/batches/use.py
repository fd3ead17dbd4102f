"""How much of each batch was used: first made, first used, nothing after its last day.

Demand on a stock is laid end to end, day after day. Batches in the order made each take a stretch of that line: from
where the batch before stopped (or their own first day) for as much as they hold, not beyond their last day. Later
batches never begin earlier, so what is left of the demand is always the rest of the line: one number carries the state
from batch to batch, and the n-th batches of all stocks can be worked out at once.
"""

from __future__ import annotations

from datetime import date
from typing import Final

import numpy as np
import polars as pl
from numpy.typing import NDArray

MILLION: Final = 1_000_000
"""Amounts are added up in whole millionths, so that no order of adding shows in them."""
DAYS: Final = 10_000_000
"""More days than a date can have: keeps the days of one stock apart from those of the next."""
NEVER: Final = date(9999, 12, 31)

Whole = NDArray[np.int64]


def first_made_first_used(batches: pl.DataFrame, counts: pl.DataFrame, demand: pl.DataFrame) -> pl.DataFrame:
    """What sales and makings took of every batch, and what there was to take.

    A count resets what a batch holds: a bottle that still held something when it was counted has served all the demand
    up to then, whatever was booked for it; one counted empty serves nothing after. What is missing at a count that
    follows a loss without an amount, that loss took.

    Args:
        batches: batch_key, stock (a number from 1), made_on, until (the last day it serves), held (what recorded losses
            leave of it), spoiled_on (when it was found spoiled), in the order of stock and use.
        counts: batch_key, counted_on, counted, lost_later (recorded as lost after the count), poured_on and spoiled_on
            (the last loss without an amount up to the count), counted_before (the count before); in the order of days.
        demand: stock, business_date, amount; a row for each day of a stock that has any.

    Returns:
        batch_key, used, held (after counts; the difference was left), poured_before_count and spoiled_before_count
        (what losses without an amount took, where a count tells it), last_served_on (before it was found spoiled; null
        where it served on no day), used_from and used_to (first day on which it was in use, and last: until it ran
        out, or its last day; null where none of it was used); amounts in the unit of the stock.
    """
    line = _Line(demand)
    stock = batches["stock"].cast(pl.Int64).to_numpy()
    before = line.upto(stock, _days(batches["made_on"]) - 1)
    until = line.upto(stock, _days(batches["until"]))
    there = _whole(batches["held"])
    held, used, took = there.copy(), np.zeros_like(there), np.zeros((2, len(there)), dtype=np.int64)
    begins = np.flatnonzero(np.diff(stock, prepend=0))
    stop = before[begins]  # of each stock, the place on its line up to which it was served
    began = np.zeros_like(there)
    sizes = np.diff(np.append(begins, len(stock)))
    reset = _Counts(counts, batches, line)
    for place in range(int(sizes.max(initial=0))):
        which = np.flatnonzero(sizes > place)
        rows = begins[which] + place
        start = np.maximum(stop[which], before[rows])
        held[rows], took[:, rows] = reset.held(rows, start, there[rows])
        began[rows] = start
        used[rows] = np.minimum(held[rows], np.maximum(until[rows] - start, 0))
        stop[which] = start + used[rows]
    return _in_units(batches, there, held, used).with_columns(
        pl.Series("poured_before_count", took[0] / MILLION),
        pl.Series("spoiled_before_count", took[1] / MILLION),
        _last_served(batches, line, began, used),
        *_days_of_use(batches, line, began, used, held),
    )


class _Line:
    """The demand of all stocks, laid end to end."""

    def __init__(self, demand: pl.DataFrame) -> None:
        key = pl.col("stock").cast(pl.Int64) * DAYS + pl.col("business_date").to_physical()
        ordered = demand.select(key.alias("key"), "amount").sort("key")
        self._keys = ordered["key"].to_numpy()
        self._through = np.append(0, np.cumsum(np.maximum(_whole(ordered["amount"]), 0)))

    def upto(self, stock: Whole, day: Whole) -> Whole:
        """The place on the line that the end of a day has in a stock."""
        return np.asarray(self._through[np.searchsorted(self._keys, stock * DAYS + day, side="right")], dtype=np.int64)

    def day_of(self, stock: Whole, place: Whole) -> Whole:
        """The day on which a stock was served up to a place on the line."""
        return np.asarray(self._keys[np.searchsorted(self._through[1:], place)] - stock * DAYS, dtype=np.int64)


def _last_served(batches: pl.DataFrame, line: _Line, began: Whole, used: Whole) -> pl.Series:
    stock = batches["stock"].cast(pl.Int64).to_numpy()
    before_spoiled = batches["spoiled_on"].fill_null(NEVER).dt.offset_by("-1d")
    end = np.minimum(began + used, line.upto(stock, _days(before_spoiled)))
    served = end > began
    days = np.zeros_like(stock)
    days[served] = line.day_of(stock[served], end[served])
    return pl.select(
        pl.when(pl.Series(served)).then(pl.Series(days).cast(pl.Int32).cast(pl.Date)).alias("last_served_on")
    ).to_series()


def _days_of_use(batches: pl.DataFrame, line: _Line, began: Whole, used: Whole, held: Whole) -> list[pl.Series]:
    stock = batches["stock"].cast(pl.Int64).to_numpy()
    first, last = _days(batches["made_on"]).copy(), _days(batches["until"]).copy()
    some, ran_out = used > 0, (used > 0) & (used == held)
    first[some] = line.day_of(stock[some], began[some] + 1)
    last[ran_out] = line.day_of(stock[ran_out], (began + used)[ran_out])
    days = {"used_from": first, "used_to": last}
    columns = [pl.Series(name, numbers).cast(pl.Int32).cast(pl.Date) for name, numbers in days.items()]
    return pl.select(pl.when(pl.Series(some)).then(column).alias(column.name) for column in columns).get_columns()


class _Counts:
    """What batches were counted to hold, the first, second ... count of each."""

    def __init__(self, counts: pl.DataFrame, batches: pl.DataFrame, line: _Line) -> None:
        of_batch = batches.select("batch_key", "stock", "until").with_row_index("row")
        known = counts.join(of_batch, on="batch_key", maintain_order="left").filter(
            pl.col("counted_on") <= pl.col("until")
        )
        known = known.sort("row", maintain_order=True)
        self._rows = known["row"].cast(pl.Int64).to_numpy()
        self._through = line.upto(known["stock"].cast(pl.Int64).to_numpy(), _days(known["counted_on"]))
        self._some = (known["counted"] > 0).to_numpy()
        self._left = np.maximum(_whole(known["counted"] - known["lost_later"]), 0)
        spoiled, poured = (_since_last_count(known, name) for name in ("spoiled_on", "poured_on"))
        self._took = np.array([poured & ~spoiled, spoiled])

    def held(self, rows: Whole, start: Whole, there: Whole) -> tuple[Whole, Whole]:
        """What batches that begin at `start` held in all, of what was there; what losses before counts took of it."""
        held, took = there.copy(), np.zeros((2, len(rows)), dtype=np.int64)
        first, end = np.searchsorted(self._rows, rows), np.searchsorted(self._rows, rows, side="right")
        for later in range(int((end - first).max(initial=0))):
            at = np.flatnonzero(end - first > later)
            count = first[at] + later
            served = np.maximum(self._through[count] - start[at], 0)
            now = np.where(self._some[count], served + self._left[count], np.minimum(held[at], served))
            took[:, at] += np.where(self._took[:, count], np.maximum(held[at] - now, 0), 0)
            held[at] = now
        return held, took


def _since_last_count(counts: pl.DataFrame, name: str) -> NDArray[np.bool_]:
    """Whether a loss without an amount lies between each count and the one before it."""
    since = (pl.col(name) > pl.col("counted_before")).fill_null(True)
    return counts.select((pl.col(name).is_not_null() & since).alias("is_since"))["is_since"].to_numpy()


def _days(dates: pl.Series) -> Whole:
    return dates.cast(pl.Date).to_physical().cast(pl.Int64).to_numpy()


def _whole(amounts: pl.Series) -> Whole:
    return (amounts.cast(pl.Float64) * MILLION).round().cast(pl.Int64).to_numpy()


def _in_units(batches: pl.DataFrame, there: Whole, held: Whole, used: Whole) -> pl.DataFrame:
    # What no count has changed, and what was used to the last drop, stays the very number that it was.
    kept = np.where(held == there, batches["held"].to_numpy(), held / MILLION)
    return pl.DataFrame(
        {"batch_key": batches["batch_key"], "used": np.where(used == held, kept, used / MILLION), "held": kept}
    )
