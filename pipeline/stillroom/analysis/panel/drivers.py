"""What drives liking: which attributes rise and fall with it from version to version."""

from __future__ import annotations

from typing import Final

import numpy as np
import polars as pl
from scipy import special

from stillroom.analysis.panel.version_fit import Floats

FEWEST_VERSIONS: Final = 6
"""Versions below which a correlation across them says nothing; common practice, no source."""

DRIVERS: Final = pl.Schema(
    {
        "spec": pl.String, "liking": pl.String, "attribute": pl.String, "versions": pl.Int64,
        "correlation": pl.Float64, "low": pl.Float64, "high": pl.Float64, "slope": pl.Float64,
    }
)  # fmt: skip


def liking_drivers(means: pl.DataFrame, tests: pl.DataFrame) -> pl.DataFrame:
    """Correlation of the versions' means of each attribute with those of liking; frame `DRIVERS`.

    `means` and `tests` as `compare_versions` gives them. 95 % intervals after Fisher's z (Fisher 1921, *Metron*
    1:3). slope: points of liking for a point of the attribute. Silent below six versions. A correlation across
    versions does not say that changing the attribute changes liking. Just-about-right
    scales have their best in the middle and are left out.
    """
    kinds = (
        tests.filter(pl.col("problem").is_null())
        .select("spec", "attribute", "sessions", "scale_kind", "higher_is_better")
        .unique()
    )
    known = means.join(kinds, on=["spec", "attribute", "sessions"], how="inner")
    liking = known.filter("higher_is_better").select("spec", "sessions", "version", liking="attribute", liked="mean")
    intensity = ~pl.col("higher_is_better") & (pl.col("scale_kind") == "intensity")
    other = known.filter(intensity).select("spec", "sessions", "version", "attribute", "mean")
    pairs = liking.join(other, on=["spec", "sessions", "version"])
    rows = []
    for (spec, name, attribute, _), group in sorted(
        pairs.partition_by("spec", "liking", "attribute", "sessions", as_dict=True).items()
    ):
        liked, level = group["liked"].to_numpy(), group["mean"].to_numpy()
        if len(level) < FEWEST_VERSIONS or np.ptp(liked) < 1e-9 or np.ptp(level) < 1e-9:
            continue
        correlation, low, high = _correlation(level, liked)
        rows.append(
            {
                "spec": spec, "liking": name, "attribute": attribute, "versions": len(level),
                "correlation": correlation, "low": low, "high": high,
                "slope": float(correlation * liked.std() / level.std()),
            }
        )  # fmt: skip
    return pl.DataFrame(rows, schema=DRIVERS)


def _correlation(one: Floats, other: Floats) -> tuple[float, float, float]:
    """Pearson's correlation with its 95 % interval by Fisher's z."""
    correlation = float(np.clip(np.corrcoef(one, other)[0, 1], -1.0, 1.0))
    with np.errstate(divide="ignore"):  # a correlation of 1 is endless in z, and its own interval
        z, reach = np.arctanh(correlation), special.ndtri(0.975) / np.sqrt(len(one) - 3)
    return correlation, float(np.tanh(z - reach)), float(np.tanh(z + reach))
