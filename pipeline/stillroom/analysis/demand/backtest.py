"""Would the forecasts have been right? Every week of the past forecast from what was known before it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
import polars as pl

from stillroom.analysis.demand.levels import WEEK
from stillroom.analysis.demand.replay import LEAST_DAYS, Replay
from stillroom.analysis.demand.ways import Means, mean_of_last_four, same_weekday_last_week
from stillroom.analysis.negative_binomial import cumulative

ORIGINS: Final = 8
"""Weeks looked back on at most."""
PROBABILITIES: Final = (0.1, 0.25, 0.5, 0.75, 0.9)
POOLED: Final = "pooled model"
WAYS: Final[dict[str, Means | None]] = {
    POOLED: None,
    "same weekday last week": same_weekday_last_week,
    "mean of the last four": mean_of_last_four,
}
CLEARLY: Final = 0.01
"""A way must be better than the pooled model by this part of its loss to be preferred."""


@dataclass(frozen=True, kw_only=True)
class Backtest:
    """How each way to forecast did."""

    scores: pl.DataFrame
    """way, weeks, forecasts, loss (mean pinball loss over `PROBABILITIES`, serves), mean_error (mean absolute error of
    the expectation), coverage (of the 80 % interval), due (what it should have: counts are whole, so a little more)."""
    best: str
    """The way to use: the pooled model unless another is clearly better."""


def pinball(serves: np.ndarray, quantile: np.ndarray, probability: float) -> np.ndarray:
    """Pinball loss of a quantile forecast (Koenker & Bassett 1978).

    >>> pinball(np.array([10.0, 4.0]), np.array([6.0, 6.0]), 0.9).round(2).tolist()
    [3.6, 0.2]
    """
    over = serves - quantile
    return np.asarray(np.maximum(probability * over, (probability - 1) * over))


def backtest(replay: Replay) -> Backtest | None:
    """Rolling-origin backtest of every way, a week ahead at a time; None where the history is too short.

    Everything a way needs, its spread too, is worked out from the days before each origin alone.
    """
    cuts = [replay.history.days - WEEK * back for back in range(ORIGINS, 0, -1)]
    cuts = [cut for cut in cuts if cut >= LEAST_DAYS]
    if not cuts:
        return None
    rows = [_score(replay, cuts, way, means) for way, means in WAYS.items()]
    scores = pl.DataFrame(rows)
    losses = dict(zip(scores["way"], scores["loss"], strict=True))
    least = min(losses, key=lambda way: losses[way])
    return Backtest(scores=scores, best=POOLED if losses[least] >= (1 - CLEARLY) * losses[POOLED] else least)


def chosen_means(tested: Backtest | None) -> Means | None:
    """The way the backtest chose; None for the pooled model."""
    return None if tested is None else WAYS[tested.best]


def _score(replay: Replay, cuts: list[int], way: str, means: Means | None) -> dict[str, object]:
    losses, errors, inside, due = [], [], [], []
    for cut in cuts:
        week = replay.week(cut)
        made = replay.forecast(cut, week.ahead, means)
        known = ~np.isnan(week.serves)
        y = week.serves[known]
        quantiles = {p: made.quantile(p)[known] for p in PROBABILITIES}
        losses.append(np.mean([pinball(y, quantiles[p], p) for p in PROBABILITIES], axis=0))
        errors.append(np.abs(y - made.means[known]))
        low, high = quantiles[0.1], quantiles[0.9]
        inside.append((low <= y) & (y <= high))
        size = np.broadcast_to(made.size, made.means.shape)[known]
        chance = size / (size + made.means[known])
        due.append(cumulative(high, size, chance) - cumulative(low - 1, size, chance))
    return {
        "way": way,
        "weeks": len(cuts),
        "forecasts": int(sum(map(len, losses))),
        "loss": float(np.concatenate(losses).mean()),
        "mean_error": float(np.concatenate(errors).mean()),
        "coverage": float(np.concatenate(inside).mean()),
        "due": float(np.concatenate(due).mean()),
    }
