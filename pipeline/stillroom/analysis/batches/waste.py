"""What became of what was made, by preparation: used, lost, still there."""

from __future__ import annotations

from datetime import date
from typing import Final

import numpy as np
import polars as pl

from stillroom.analysis.intervals import share_interval

FATES: Final = ("used", "poured_away", "spoiled", "left_at_use_by", "on_hand", "unexplained")
LOST: Final = ("poured_away", "spoiled", "left_at_use_by")
LEAST_BATCHES: Final = 3
"""Finished batches needed for an interval."""


def fate_by_preparation(batch_fate: pl.DataFrame, first: date, last: date) -> pl.DataFrame:
    """Sum up the batches made in first..last, one row a preparation and unit, heaviest loss of money first.

    Returns:
        preparation, unit, batches, finished (nothing of it on hand), with_loss (finished ones that lost something),
        made, the columns of `FATES`, lost, lost_share (of what is no longer on hand; null when that is nothing) with
        low and high (95 %, null below `LEAST_BATCHES` finished batches), cost_lost (null when no batch with a loss has
        a price), unpriced (batches with a loss but without a price), cost_unexplained (of the amount unexplained, at
        what the batches cost to make; null without any price), typical_batch (median), keep_days (median number
        of days from the making to the use-by, both included).
    """
    made = batch_fate.filter(pl.col("made_on").is_between(first, last)).with_columns(
        pl.sum_horizontal(*LOST).alias("lost"),
        (pl.col("on_hand") <= 0).alias("is_finished"),
        ((pl.col("use_by") - pl.col("made_on")).dt.total_days() + 1).alias("kept"),
    )
    summed = _summed(made)
    ends = [
        _ratio_interval(made.filter("is_finished", pl.col("preparation") == name, pl.col("unit") == unit))
        for name, unit in summed.select("preparation", "unit").rows()
    ]
    return summed.with_columns(
        pl.Series("low", [low for low, _ in ends], pl.Float64),
        pl.Series("high", [high for _, high in ends], pl.Float64),
    ).sort(
        pl.col("cost_lost").fill_null(0),
        pl.col("lost_share").fill_null(0),
        "preparation",
        descending=[True, True, False],
    )


def _summed(made: pl.DataFrame) -> pl.DataFrame:
    """One row a preparation and unit, without the interval."""
    has_loss = pl.col("lost") > 0
    return (
        made.group_by("preparation", "unit")
        .agg(
            pl.len().alias("batches"),
            pl.col("is_finished").sum().alias("finished"),
            (pl.col("is_finished") & has_loss).sum().alias("with_loss"),
            pl.col("made", *FATES, "lost").sum(),
            pl.when(pl.col("cost_lost").filter(has_loss).count() > 0)
            .then(pl.col("cost_lost").filter(has_loss).sum())
            .alias("cost_lost"),
            pl.col("cost_lost").filter(has_loss).is_null().sum().alias("unpriced"),
            pl.when(pl.col("cost_made").count() > 0)
            .then((pl.col("unexplained") * pl.col("cost_made") / pl.col("made")).sum())
            .alias("cost_unexplained"),
            pl.col("made").median().alias("typical_batch"),
            pl.col("kept").median().alias("keep_days"),
        )
        .with_columns((pl.col("made") - pl.col("on_hand")).alias("gone"))
        .with_columns(pl.when(pl.col("gone") > 0).then(pl.col("lost") / pl.col("gone")).alias("lost_share"))
        .drop("gone")
    )


def _ratio_interval(finished: pl.DataFrame) -> tuple[float | None, float | None]:
    """95 % interval for the share of made that was lost, batches as the sample.

    The ratio estimator of Cochran 1977, Sampling Techniques, ch. 6 (from memory), with Student's t. Where no batch lost
    anything, or every batch all, there is no scatter to go by: then the exact interval for the share of such batches.
    """
    n = finished.height
    if n < LEAST_BATCHES:
        return None, None
    from scipy.special import stdtrit

    lost, made = finished["lost"].to_numpy(), finished["made"].to_numpy()
    whole = made - lost <= 1e-9 * made
    if not lost.any() or whole.all():
        return share_interval(int(whole.sum()), n, method="exact")
    share = float(lost.sum() / made.sum())
    error = float(np.sqrt(((lost - share * made) ** 2).sum() / (n - 1) / n) / made.mean())
    reach = float(stdtrit(n - 1, 0.975)) * error
    return max(0.0, share - reach), min(1.0, share + reach)
