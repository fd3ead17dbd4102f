"""A spec's scores across versions and sessions, each session by itself."""

from __future__ import annotations

from typing import Final

import numpy as np
import polars as pl

from stillroom.analysis.panel.attributes import labelled
from stillroom.analysis.tails import t_isf

HISTORY: Final = pl.Schema(
    {
        "spec": pl.String, "attribute": pl.String, "higher_is_better": pl.Boolean, "session": pl.String,
        "tasted_on": pl.Date, "version": pl.Int64, "panelists": pl.UInt32, "mean": pl.Float64, "low": pl.Float64,
        "high": pl.Float64,
    }
)  # fmt: skip


def panel_history(scores: pl.DataFrame) -> pl.DataFrame:
    """Mean of each version in each session with its 95 % interval (Student's t over panelists); frame `HISTORY`.

    Means of different sessions are not comparable by themselves: days and people differ. `low` and `high` are null
    with one panelist.
    """
    sitting = ["spec", "label", "higher_is_better", "session", "version"]
    each = (
        labelled(scores)
        .group_by(*sitting, "panelist", maintain_order=True)
        .agg(pl.col("score").mean(), pl.col("tasted_on").min())
    )
    means = each.group_by(sitting, maintain_order=True).agg(
        pl.col("tasted_on").min(),
        panelists=pl.len(),
        mean=pl.col("score").mean(),
        se=pl.col("score").std() / pl.len().sqrt(),
    )
    t = t_isf(0.025, np.maximum(means["panelists"].to_numpy().astype(float) - 1, 1))
    reach = pl.col("se") * pl.Series(t)
    return (
        means.with_columns(low=pl.col("mean") - reach, high=pl.col("mean") + reach)
        .rename({"label": "attribute"})
        .select(HISTORY.names())
        .cast(dict(HISTORY))  # type: ignore[arg-type]
        .sort("spec", "attribute", "tasted_on", "session", "version")
    )
