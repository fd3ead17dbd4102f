"""Small tasting panels for tests, as the view panel_scores delivers them; the columns of trials."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

import numpy as np
import polars as pl

SCORES = {
    "session": pl.String,
    "tasted_on": pl.Date,
    "panelist": pl.String,
    "spec": pl.String,
    "version": pl.Int64,
    "attribute": pl.String,
    "score": pl.Float64,
    "scale_low": pl.Float64,
    "scale_high": pl.Float64,
    "scale_kind": pl.String,
    "position": pl.Int64,
    "code": pl.String,
    "replicate": pl.Int64,
    "looks": pl.Int64,
}
TRIALS = {
    "session": pl.String,
    "tasted_on": pl.Date,
    "panelist": pl.String,
    "method": pl.String,
    "spec": pl.String,
    "version_a": pl.Int64,
    "version_b": pl.Int64,
    "correct": pl.String,
    "chosen": pl.String,
    "given": pl.String,
}


def panel(
    table: Sequence[Sequence[float | None]],
    *,
    versions: Sequence[int] = (1, 2, 3, 4, 5, 6),
    spec: str = "Harbour Light",
    attribute: str = "liking",
    session: str = "first",
    kind: str = "intensity",
    scale: tuple[float, float] = (1, 9),
    replicate: int | None = None,
    tasted_on: date = date(2026, 10, 5),
) -> pl.DataFrame:
    """Scores from a table of panelists x versions; None where a panelist did not taste."""
    low, high = map(float, scale)
    rows = [
        (
            session,
            tasted_on,
            f"P{number:03}",
            spec,
            version,
            attribute,
            float(score),
            low,
            high,
            kind,
            None,
            None,
            replicate,
            None,
        )
        for number, line in enumerate(table)
        for version, score in zip(versions, line, strict=False)
        if score is not None
    ]
    return pl.DataFrame(rows, schema=SCORES, orient="row")


def drawn_scores(panelists: int, effects: Sequence[float], seed: int, sd: float = 1.0) -> list[list[float]]:
    """Scores with the given true means, each panelist on a level of their own, in tenths of a point from 1 to 9."""
    rng = np.random.default_rng(seed)
    scores = rng.normal(5, 1, (panelists, 1)) + np.array(effects) + rng.normal(0, sd, (panelists, len(effects)))
    clipped: list[list[float]] = scores.round(1).clip(1, 9).tolist()
    return clipped
