"""Batches on hand: will they be used before their use-by?"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any, Final

import numpy as np
import polars as pl

TRIFLE: Final = 0.02
"""Of a batch: leaving less than this counts as used."""
FOUR_WEEKS: Final = 28
LEVELS: Final = (0.025, 0.975)
"""Of the draws, between which what will be left lies: the 95 % prediction interval."""

SURE, LIKELY, MAYBE, FINE, NO_USE, NO_USE_BY = (
    "will not be used in time",
    "will likely not be used in time",
    "may not be used in time",
    "will be used in time",
    "not used lately",
    "no use-by known",
)

UseOfStock = Mapping[tuple[str | None, str], np.ndarray]
"""(venue, preparation) -> draws by days of its use to come, from the day after the last one in the data."""

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


def outlook(batch_fate: pl.DataFrame, use: UseOfStock) -> pl.DataFrame:
    """What will be left of each batch on hand at its use-by if nothing is made before; first made first used.

    Returns:
        The columns of `OUTLOOK`, soonest use-by first: days_left (null without a use-by), per_day (mean use until
        then), left (expected at its use-by), left_least and left_most (95 % prediction interval), verdict, cost_left
        (of what is expected to be left; null without a price).
    """
    found = []
    for (venue, preparation), batches in held(batch_fate).group_by("venue", "preparation", maintain_order=True):
        found += _one_preparation(batches, use.get((None if venue is None else str(venue), str(preparation))))
    return pl.DataFrame(found, schema=OUTLOOK).sort("use_by", "made_on", "batch", nulls_last=True)


def held(batch_fate: pl.DataFrame) -> pl.DataFrame:
    """Batches with something on hand, in the order of use."""
    return batch_fate.filter(pl.col("on_hand") > 0).sort("made_on", "use_by", "batch", nulls_last=True)


def left_at_use_by(
    amounts: Sequence[float], use_by: Sequence[date | None], last_day: date, use: np.ndarray
) -> np.ndarray:
    """What is left of batches used one after another, each until its use-by: batches by draws.

    Args:
        amounts: on hand at the end of `last_day`.
        use_by: last day each may be used; None: it has none.
        last_day: the last day in the data.
        use: draws by days of the use from the next day on; the days after go on as its last four weeks do.

    >>> left_at_use_by([100, 100], [date(2026, 3, 6), date(2026, 3, 11)], date(2026, 3, 1), np.full((1, 10), 15.0))
    array([[25.],
           [25.]])
    """
    days = [None if day is None else max(0, (day - last_day).days) for day in use_by]
    through = _through(use, max([day for day in days if day is not None], default=0))
    served = np.zeros(len(use))
    left = []
    for amount, day in zip(amounts, days, strict=True):
        until = np.inf if day is None else through[:, day]
        taken = np.clip(until - served, 0.0, amount)
        served += taken
        left.append(amount - taken)
    return np.array(left)


def _through(use: np.ndarray, days: int) -> np.ndarray:
    """Use up to the end of each day, beginning with none."""
    lately = use[:, -FOUR_WEEKS:]
    repeats = max(0, -(-(days - use.shape[1]) // lately.shape[1]))
    longer = np.concatenate([use, *[lately] * repeats], axis=1)
    return np.concatenate([np.zeros((len(use), 1)), longer.cumsum(axis=1)], axis=1)


def _one_preparation(batches: pl.DataFrame, use: np.ndarray | None) -> list[dict[str, Any]]:
    rows = list(batches.iter_rows(named=True))
    none = use is None or not use.any()
    drawn = np.zeros((1, FOUR_WEEKS)) if use is None else use
    last_day = rows[0]["last_day"]
    left = left_at_use_by([row["on_hand"] for row in rows], [row["use_by"] for row in rows], last_day, drawn)
    least, most = np.quantile(left, LEVELS, axis=1)
    said = []
    for i, row in enumerate(rows):
        copied = {name: row[name] for name in ("batch", "venue", "preparation", "made_on", "use_by", "on_hand", "unit")}
        worked_out: dict[str, Any] = {"per_day": float(drawn.mean()), "verdict": NO_USE_BY}
        if row["use_by"] is not None:
            days = max(0, (row["use_by"] - last_day).days)
            a_unit = None if row["cost_made"] is None or row["made"] <= 0 else row["cost_made"] / row["made"]
            mean = float(left[i].mean())
            worked_out = {
                "days_left": days,
                "per_day": float(drawn[:, : days or None].mean()),
                "left": mean,
                "left_least": float(least[i]),
                "left_most": float(most[i]),
                "verdict": NO_USE if none else _verdict(row["on_hand"], mean, least[i], most[i]),
                "cost_left": None if a_unit is None else a_unit * mean,
            }
        said.append(dict.fromkeys(OUTLOOK) | copied | worked_out)
    return said


def _verdict(amount: float, left: float, least: float, most: float) -> str:
    if least > TRIFLE * amount:
        return SURE
    if left > TRIFLE * amount:
        return LIKELY
    return MAYBE if most > TRIFLE * amount else FINE
