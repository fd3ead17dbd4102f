"""Batches on hand: will they be used before their use-by, at the rate they are used now?"""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any, Final

import polars as pl

from stillroom.analysis.batches.use_rate import UseRate, use_rate

WINDOW: Final = 28
"""Days back that 'now' means: four of every weekday."""
TRIFLE: Final = 0.02
"""Of a batch: leaving less than this counts as used."""

NEVER: Final = 3650
"""Days that a batch without a use-by has left, for working out the order of use."""

SURE, LIKELY, MAYBE, FINE, NO_RATE, NO_USE_BY = (
    "will not be used in time",
    "will likely not be used in time",
    "may not be used in time",
    "will be used in time",
    "not used lately",
    "no use-by known",
)

Rates = dict[tuple[str | None, str], UseRate]
"""(venue, preparation) -> rate of use; venue None for the whole house."""


def rates_of_use(preparation_use: pl.DataFrame, last_day: date, window: int = WINDOW) -> Rates:
    """Rate of use of each preparation, by venue and for the whole house, closed days counted.

    Looks at the `window` days up to `last_day`; a preparation first used within them has its own shorter span. Where
    nothing was used there is no entry.
    """
    whole = preparation_use.with_columns(pl.lit(None, dtype=pl.String).alias("venue"))
    both = pl.concat([preparation_use.filter(pl.col("venue").is_not_null()), whole])
    first = last_day - timedelta(days=window - 1)
    begun = both.filter(pl.col("amount") > 0).group_by("venue", "preparation").agg(pl.col("business_date").min())
    daily = (
        both.filter(pl.col("business_date").is_between(first, last_day))
        .group_by("venue", "preparation", "business_date")
        .agg(pl.col("amount").sum())
        .join(begun.rename({"business_date": "begun"}), on=["venue", "preparation"], nulls_equal=True)
        .sort("business_date")
    )
    rates: Rates = {}
    for (venue, preparation), rows in daily.group_by("venue", "preparation"):
        amounts = rows["amount"].to_list()
        days = (last_day - max(first, rows["begun"][0])).days + 1
        rate = use_rate(amounts + [0.0] * (days - len(amounts)))
        if rate is not None:
            rates[None if venue is None else str(venue), str(preparation)] = rate
    return rates


OUTLOOK: Final = pl.Schema(
    {
        "batch": pl.String(),
        "venue": pl.String(),
        "preparation": pl.String(),
        "made_on": pl.Date(),
        "use_by": pl.Date(),
        "on_hand": pl.Float64(),
        "unit": pl.String(),
        "days_left": pl.Int64(),
        "per_day": pl.Float64(),
        "left": pl.Float64(),
        "left_least": pl.Float64(),
        "left_most": pl.Float64(),
        "verdict": pl.String(),
        "cost_left": pl.Float64(),
    }
)


def outlook(batch_fate: pl.DataFrame, rates: Rates) -> pl.DataFrame:
    """What will be left of each batch on hand at its use-by, first made first used.

    Use goes on at its mean rate, or at either end of the 95 % prediction interval for the days the batch has left.

    Returns:
        The columns of `OUTLOOK`, soonest use-by first: days_left (null without a use-by), per_day (use), left (expected
        at its use-by), left_least and left_most, verdict, cost_left (of what is expected to be left; null without a
        price).
    """
    found = []
    held = batch_fate.filter(pl.col("on_hand") > 0).sort("made_on", "use_by", "batch")
    for (venue, preparation), batches in held.group_by("venue", "preparation", maintain_order=True):
        rate = rates.get((None if venue is None else str(venue), str(preparation)))
        found += _one_preparation(batches, rate)
    return pl.DataFrame(found, schema=OUTLOOK).sort("use_by", "made_on", "batch", nulls_last=True)


def _one_preparation(batches: pl.DataFrame, rate: UseRate | None) -> list[dict[str, Any]]:
    rows = list(batches.iter_rows(named=True))
    known = [None if row["use_by"] is None else max(0, (row["use_by"] - row["last_day"]).days) for row in rows]
    days = [NEVER if span is None else span for span in known]
    amounts = [row["on_hand"] for row in rows]
    mean = [0.0 if rate is None else rate.per_day] * len(rows)
    slow = [0.0 if rate is None or not span else rate.use_in(span, 0.025) / span for span in days]
    fast = [0.0 if rate is None or not span else rate.use_in(span, 0.975) / span for span in days]
    left, most, least = (left_at_use_by(amounts, days, speeds) for speeds in (mean, slow, fast))
    said = []
    for i, row in enumerate(rows):
        copied = {name: row[name] for name in ("batch", "venue", "preparation", "made_on", "use_by", "on_hand", "unit")}
        worked_out: dict[str, Any] = {"days_left": known[i], "per_day": mean[i], "verdict": NO_USE_BY}
        if known[i] is not None:
            a_unit = None if row["cost_made"] is None or row["made"] <= 0 else row["cost_made"] / row["made"]
            worked_out |= {
                "left": left[i],
                "left_least": least[i],
                "left_most": most[i],
                "verdict": _verdict(rate, amounts[i], left[i], least[i], most[i]),
                "cost_left": None if a_unit is None else a_unit * left[i],
            }
        said.append(dict.fromkeys(OUTLOOK) | copied | worked_out)
    return said


def left_at_use_by(amounts: list[float], days: list[int], speeds: list[float]) -> list[float]:
    """What is left of batches used one after another, each until its use-by at its own speed.

    >>> left_at_use_by([100, 100], [5, 10], [15, 15])
    [25.0, 25.0]
    """
    left, clock = [], 0.0
    for amount, span, speed in zip(amounts, days, speeds, strict=True):
        used = min(amount, max(0.0, span - clock) * speed)
        if speed > 0:
            clock += used / speed
        left.append(amount - used)
    return left


def _verdict(rate: UseRate | None, amount: float, left: float, least: float, most: float) -> str:
    if rate is None:
        return NO_RATE
    if least > TRIFLE * amount:
        return SURE
    if left > TRIFLE * amount:
        return LIKELY
    return MAYBE if most > TRIFLE * amount else FINE
