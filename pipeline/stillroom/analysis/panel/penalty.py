"""Just-about-right scales: how the scores lie, and what too little or too much costs in liking."""

from __future__ import annotations

from typing import Final

import numpy as np
import polars as pl

from stillroom.analysis.panel.attributes import labelled
from stillroom.analysis.tails import t_isf, t_sf

ENOUGH: Final = 0.2
"""Share of panelists on one side from which a penalty is worth a look: a fifth, as in ASTM MNL 63 (from memory)."""
FEWEST: Final = 3
"""Panelists on a side, and at just right, below which no mean is compared."""

PENALTIES: Final = pl.Schema(
    {
        "spec": pl.String, "version": pl.Int64, "attribute": pl.String, "side": pl.String, "panelists": pl.Int64,
        "count": pl.Int64, "share": pl.Float64, "liking": pl.Float64, "drop": pl.Float64, "low": pl.Float64,
        "high": pl.Float64, "p": pl.Float64, "penalty": pl.Float64,
    }
)  # fmt: skip
SIDES: Final = ("too little", "just right", "too much")


def penalties(scores: pl.DataFrame) -> pl.DataFrame:
    """Distribution and mean drop for every version and just-about-right attribute; frame `PENALTIES`.

    A score at the middle of its scale is just right. drop: mean liking of those who found it just right less that of
    the side's, with its 95 % interval and p (Welch's t); penalty: drop x share. Liking is the same panelist's of the
    same sample. Source: Lawless & Heymann, *Sensory Evaluation of Food*, 2nd ed., ch. 14 (method from memory).
    """
    judged = scores.filter((pl.col("scale_kind") == "just-about-right") & pl.col("score").is_finite())
    if judged.is_empty():
        return pl.DataFrame(schema=PENALTIES)
    sample = ["session", "panelist", "spec", "version"]
    liking = (
        labelled(scores)
        .filter("higher_is_better")
        .group_by(sample, maintain_order=True)
        .agg(liking=pl.col("score").mean().round(9))
    )
    middle = (pl.col("scale_low") + pl.col("scale_high")) / 2
    side = (
        pl.when(pl.col("score") < middle)
        .then(pl.lit(SIDES[0]))
        .when(pl.col("score") > middle)
        .then(pl.lit(SIDES[2]))
        .otherwise(pl.lit(SIDES[1]))
    )
    known = judged.with_columns(side=side).join(liking, on=sample, how="left")
    rows = []
    for (spec, version, attribute), group in sorted(
        known.partition_by("spec", "version", "attribute", as_dict=True).items()
    ):
        right = _likings(group, SIDES[1])
        for name in SIDES:
            count = group.filter(pl.col("side") == name).height
            rows.append(
                {"spec": spec, "version": version, "attribute": attribute, "side": name}
                | {"panelists": group.height, "count": count, "share": count / group.height}
                | _drop(right, _likings(group, name), count / group.height, name)
            )
    return pl.DataFrame(rows, schema=PENALTIES)


def _likings(group: pl.DataFrame, side: str) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
    return group.filter(pl.col("side") == side)["liking"].drop_nulls().to_numpy()


def _drop(
    right: np.ndarray[tuple[int], np.dtype[np.float64]],
    side: np.ndarray[tuple[int], np.dtype[np.float64]],
    share: float,
    name: str,
) -> dict[str, float | None]:
    """Mean liking of a side, and how far it lies below that of 'just right'."""
    mean: dict[str, float | None] = {"liking": float(side.mean()) if len(side) else None}
    if name == SIDES[1] or min(len(right), len(side)) < FEWEST:
        return mean
    drop = float(right.mean() - side.mean())
    mean |= {"drop": drop, "penalty": drop * share}
    # Welch's t by its formula: SciPy's own warns of, and stops at, a group whose scores are all the same.
    parts = np.array([right.var(ddof=1) / len(right), side.var(ddof=1) / len(side)])
    if parts.sum() < 1e-18:
        return mean
    se, df = float(np.sqrt(parts.sum())), float(parts.sum() ** 2 / (parts**2 / [len(right) - 1, len(side) - 1]).sum())
    reach = float(t_isf(0.025, df)) * se
    return mean | {"low": drop - reach, "high": drop + reach, "p": float(2 * t_sf(abs(drop) / se, df))}
