"""The columns of the view batch_fate, for tests that write its rows."""

from __future__ import annotations

import polars as pl

from stillroom.analysis.batches.waste import FATES

FATE = {
    "batch": pl.String,
    "venue": pl.String,
    "preparation": pl.String,
    "version": pl.Int64,
    "storage": pl.String,
    "made_on": pl.Date,
    "use_by": pl.Date,
    "made": pl.Float64,
    **dict.fromkeys(FATES, pl.Float64),
    "unit": pl.String,
    "ended_on": pl.Date,
    "spoiled_on": pl.Date,
    "last_good_on": pl.Date,
    "cost_made": pl.Float64,
    "cost_lost": pl.Float64,
    "last_day": pl.Date,
}
