"""Batches on hand: will they be used before their use-by, at the rate they are used now?"""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any, Final

import polars as pl

from stillroom.analysis.use_rate import UseRate, use_rate

WINDOW: Final = 28
"""Days back that 'now' means: four of every weekday."""
TRIFLE: Final = 0.02
"""Of a batch: leaving less than this counts as used."""

SURE, LIKELY, MAYBE, FINE, NO_RATE = (
    "will not be used in time",
    "will likely not be used in time",
    "may not be used in time",
    "will be used in time",
    "not used lately",
)


def rates_of_use(preparation_use: pl.DataFrame, last_day: date, window: int = WINDOW) -> dict[tuple[str, str], UseRate]:
    """Rate of use of each (venue, preparation) over the `window` days up to `last_day`, closed days counted.

    A preparation first used within the window has its own shorter one. Where nothing was used there is no entry.
    """
    first = last_day - timedelta(days=window - 1)
    daily = (
        preparation_use.filter(pl.col("business_date").is_between(first, last_day))
        .group_by("venue", "preparation", "business_date")
        .agg(pl.col("amount").sum())
    )
    begun = {
        (venue, preparation): day
        for venue, preparation, day in preparation_use.filter(pl.col("amount") > 0)
        .group_by("venue", "preparation")
        .agg(pl.col("business_date").min())
        .rows()
    }
    rates = {}
    for (venue, preparation), rows in daily.group_by("venue", "preparation"):
        key = (str(venue), str(preparation))
        days = (last_day - max(first, begun.get(key, first))).days + 1
        amounts = rows["amount"].to_list()
        rate = use_rate(amounts + [0.0] * (days - len(amounts)))
        if rate is not None:
            rates[key] = rate
    return rates


def outlook(batch_fate: pl.DataFrame, rates: dict[tuple[str, str], UseRate]) -> pl.DataFrame:
    """What will be left of each batch on hand at its use-by, first made first used.

    Use goes on at its mean rate, or at either end of the 95 % prediction interval for the days the batch has left.

    Returns:
        batch, venue, preparation, made_on, use_by, on_hand, unit, days_left, per_day, left (expected at its use-by),
        left_least, left_most, verdict, cost_left (of what is expected to be left; null without a price), soonest
        use-by first.
    """
    found = []
    held = batch_fate.filter(pl.col("on_hand") > 0).sort("made_on", "use_by", "batch")
    for (venue, preparation), batches in held.group_by("venue", "preparation", maintain_order=True):
        rate = rates.get((str(venue), str(preparation)))
        found += _one_preparation(batches, rate)
    schema = {
        name: held.schema[name] for name in ("batch", "venue", "preparation", "made_on", "use_by", "on_hand", "unit")
    }
    worked_out: dict[str, Any] = {
        "days_left": pl.Int64,
        "per_day": pl.Float64,
        "left": pl.Float64,
        "left_least": pl.Float64,
    }
    worked_out |= {"left_most": pl.Float64, "verdict": pl.String, "cost_left": pl.Float64}
    return pl.DataFrame(found, schema={**schema, **worked_out}).sort("use_by", "made_on", "batch")


def _one_preparation(batches: pl.DataFrame, rate: UseRate | None) -> list[dict[str, object]]:
    rows = list(batches.iter_rows(named=True))
    days = [max(0, (row["use_by"] - row["last_day"]).days) for row in rows]
    amounts = [row["on_hand"] for row in rows]
    mean = [0.0 if rate is None else rate.per_day] * len(rows)
    slow = [0.0 if rate is None or not span else rate.use_in(span, 0.025) / span for span in days]
    fast = [0.0 if rate is None or not span else rate.use_in(span, 0.975) / span for span in days]
    left, most, least = (left_at_use_by(amounts, days, speeds) for speeds in (mean, slow, fast))
    said = []
    for i, row in enumerate(rows):
        a_unit = None if row["cost_made"] is None or row["made"] <= 0 else row["cost_made"] / row["made"]
        said.append(
            {
                **{
                    name: row[name]
                    for name in ("batch", "venue", "preparation", "made_on", "use_by", "on_hand", "unit")
                },
                "days_left": days[i],
                "per_day": mean[i],
                "left": left[i],
                "left_least": least[i],
                "left_most": most[i],
                "verdict": _verdict(rate, amounts[i], left[i], least[i], most[i]),
                "cost_left": None if a_unit is None else a_unit * left[i],
            }
        )
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
