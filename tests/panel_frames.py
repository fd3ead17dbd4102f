"""Small tasting panels for tests, as the view panel_scores delivers them."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

import numpy as np
import polars as pl

from store_frames import frame

TRIALS = "session tasted_on panelist method spec version_a version_b correct chosen given"


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
    same = {"session": session, "tasted_on": tasted_on, "spec": spec, "attribute": attribute, "replicate": replicate}
    same |= {"scale_low": float(scale[0]), "scale_high": float(scale[1]), "scale_kind": kind}
    rows = [
        same | {"panelist": f"P{number:03}", "version": version, "score": float(score)}
        for number, line in enumerate(table)
        for version, score in zip(versions, line, strict=False)
        if score is not None
    ]
    return frame("panel_scores", rows)


def drawn_scores(panelists: int, effects: Sequence[float], seed: int, sd: float = 1.0) -> list[list[float]]:
    """Scores with the given true means, each panelist on a level of their own, in tenths of a point from 1 to 9."""
    rng = np.random.default_rng(seed)
    scores = rng.normal(5, 1, (panelists, 1)) + np.array(effects) + rng.normal(0, sd, (panelists, len(effects)))
    clipped: list[list[float]] = scores.round(1).clip(1, 9).tolist()
    return clipped
