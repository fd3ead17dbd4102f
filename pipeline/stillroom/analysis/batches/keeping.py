"""How long batches really keep: survival from making to spoiling.

The event is *spoiled*, on the day it is found (when it went: `found_spoiled`). A batch used up, poured away for another
reason, past its use-by or still on hand was good for as long as it was there: it is censored. Such data can show that
something keeps less long than its label says; that it keeps longer they can never show, because nothing is watched
beyond its use-by.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
import polars as pl

from stillroom.analysis.intervals import share_interval

SAME_DAY: Final = 0.5
"""Days after which a batch went at the latest that was found spoiled on the day it was made."""


@dataclass(frozen=True, kw_only=True)
class Survival:
    """Kaplan-Meier curve at the days on which something spoiled."""

    days: tuple[float, ...]
    at_risk: tuple[int, ...]
    spoiled: tuple[int, ...]
    share: tuple[float, ...]
    """Share still good after that day."""
    error: tuple[float, ...]
    """Greenwood's standard error; 0 when all is gone."""
    low: tuple[float, ...]
    high: tuple[float, ...]
    """95 % interval on the log-minus-log scale (Kalbfleisch & Prentice 1980). It has none when all is gone: then it
    reaches up to where it reached the day before, or to the exact limit for none of so many, whichever is less."""
    batches: int

    def good_after(self, day: float) -> tuple[float, float, float]:
        """Share still good after `day`, with its interval; 1 with an open low end before anything spoiled."""
        shown = [i for i, at in enumerate(self.days) if at <= day]
        if not shown:
            return 1.0, 0.0, 1.0
        return self.share[shown[-1]], self.low[shown[-1]], self.high[shown[-1]]

    def day_by_which(self, part: float) -> float | None:
        """First day by which at least `part` of the batches has spoiled; None when that was not reached."""
        return next((day for day, share in zip(self.days, self.share, strict=True) if share <= 1 - part + 1e-12), None)


def survival(days: Sequence[float], spoiled: Sequence[bool]) -> Survival:
    """Kaplan & Meier 1958 (J. Am. Stat. Assoc. 53:457), with Greenwood's error.

    Args:
        days: how long each batch was watched.
        spoiled: whether it spoiled then; otherwise it was still good.
    """
    if not any(spoiled):
        return Survival(days=(), at_risk=(), spoiled=(), share=(), error=(), low=(), high=(), batches=len(days))
    watched, went_off = np.asarray(days, dtype=float), np.asarray(spoiled, dtype=bool)
    on = np.unique(watched[went_off])
    at_risk = (watched[:, None] >= on).sum(axis=0)
    gone = ((watched[:, None] == on) & went_off[:, None]).sum(axis=0)
    share = np.cumprod(1 - gone / at_risk)
    none_left = at_risk == gone  # on the last day at most: there the error would divide by zero
    error = share * np.sqrt(np.cumsum(gone / (at_risk * np.where(none_left, 1, at_risk - gone))))
    low, high = _log_log(share, error)
    if none_left[-1]:
        high[-1] = min([share_interval(0, int(at_risk[-1]), method="exact").high, *high[:-1]])
    return Survival(
        days=tuple(on.tolist()),
        at_risk=tuple(at_risk.tolist()),
        spoiled=tuple(gone.tolist()),
        share=tuple(share.tolist()),
        error=tuple(error.tolist()),
        low=tuple(low.tolist()),
        high=tuple(high.tolist()),
        batches=len(days),
    )


def _log_log(share: np.ndarray, error: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    inside = (share > 1e-12) & (share < 1)
    safe = np.where(inside, share, 0.5)
    reach = 1.959963984540054 * error / (safe * np.abs(np.log(safe)))
    low = np.where(inside, safe ** np.exp(reach), np.where(share >= 1, 1.0, 0.0))
    high = np.where(inside, safe ** np.exp(-reach), np.where(share >= 1, 1.0, 0.0))
    return low, high


@dataclass(frozen=True, kw_only=True)
class LogRank:
    """Do groups spoil alike?"""

    chi_squared: float
    degrees: int
    p_value: float


def log_rank(days: Sequence[float], spoiled: Sequence[bool], group: Sequence[str]) -> LogRank | None:
    """Log-rank test of Mantel 1966 (Cancer Chemother. Rep. 50:163); None with fewer than two groups or nothing spoiled.

    A group of which nothing was left when the first spoiled says nothing and does not count, as in R's `survdiff`.
    """
    watched, went_off, of = np.asarray(days, dtype=float), np.asarray(spoiled, dtype=bool), np.asarray(group)
    if not went_off.any():
        return None
    there = np.isin(of, of[watched >= watched[went_off].min()])
    groups = len(set(of[there].tolist()))
    if groups < 2:
        return None
    from scipy.special import chdtrc

    more, spread = _more_than_expected(watched[there], went_off[there], of[there])
    try:
        statistic = float(more[1:] @ np.linalg.solve(spread[1:, 1:], more[1:]))
    except np.linalg.LinAlgError:  # no day on which two groups were both there to compare
        return None
    if not np.isfinite(statistic):
        return None
    return LogRank(chi_squared=statistic, degrees=groups - 1, p_value=float(chdtrc(groups - 1, statistic)))


def _more_than_expected(watched: np.ndarray, went_off: np.ndarray, of: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """By group, how many more spoiled than if all were alike; and the covariance of that (hypergeometric, by day)."""
    groups = np.unique(of)
    more, spread = np.zeros(len(groups)), np.zeros((len(groups), len(groups)))
    for day in np.unique(watched[went_off]):
        at_risk = np.array([((of == group) & (watched >= day)).sum() for group in groups])
        gone = np.array([((of == group) & (watched == day) & went_off).sum() for group in groups])
        n, d = int(at_risk.sum()), int(gone.sum())
        more += gone - at_risk * d / n
        if n > 1:
            spread += (np.diag(at_risk * n) - np.outer(at_risk, at_risk)) * (d * (n - d) / (n**2 * (n - 1)))
    return more, spread


def batch_lives(batch_fate: pl.DataFrame) -> pl.DataFrame:
    """How long each batch was watched, whether it spoiled then, and until when it is known to have been good.

    A batch that did not spoil was watched until it ended, or had served its last, else until its use-by or the last day
    in the data, whichever came first. What was found spoiled after its use-by did not spoil before it, as far as
    anybody knows.

    Args:
        batch_fate: batch, preparation, version, storage, made_on, use_by, ended_on, spoiled_on, last_good_on, on_hand,
            left_at_use_by, last_day.

    Returns:
        batch, preparation, version, storage, made_on, days, spoiled, label_days (from the making to the use-by; null
        without), good (the last day of its life on which it is known to have been good), found (the day of its life on
        which it was found spoiled, also after its use-by; null where it never was).
    """
    limit = pl.coalesce("use_by", "last_day")
    emptied = pl.when(pl.col("on_hand") + pl.col("left_at_use_by") <= 0).then("last_good_on")
    until = pl.min_horizontal(pl.coalesce("ended_on", emptied, limit), limit, pl.col("last_day"))
    spoiled = pl.col("spoiled_on").is_not_null() & (pl.col("spoiled_on") <= limit)
    looked = pl.when(pl.col("spoiled_on").is_null()).then(until).otherwise(pl.coalesce("last_good_on", "made_on"))

    def life(day: pl.Expr) -> pl.Expr:
        return (day - pl.col("made_on")).dt.total_days().clip(0).cast(pl.Float64)

    return batch_fate.select(
        "batch",
        "preparation",
        "version",
        "storage",
        "made_on",
        life(pl.when(spoiled).then("spoiled_on").otherwise(until)).alias("days"),
        spoiled.alias("spoiled"),
        (pl.col("use_by") - pl.col("made_on")).dt.total_days().alias("label_days"),
        life(looked).alias("good"),
        life(pl.col("spoiled_on")).clip(SAME_DAY).alias("found"),
    ).sort("preparation", "made_on", "batch")
