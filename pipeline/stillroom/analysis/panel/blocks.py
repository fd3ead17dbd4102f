"""The scores of one attribute as a table: a row for each panelist in a session, a column for each version."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import polars as pl

from stillroom.analysis.panel.version_fit import Floats

Names = npt.NDArray[np.str_]


@dataclass(frozen=True, kw_only=True)
class Blocks:
    """What each panelist gave each version in each session, repeats averaged."""

    scores: Floats
    """Shape (blocks, versions), in points; nan where not tasted."""
    first: Floats | None
    """Share of a version's glasses that stood first, same shape; None unless every position is known."""
    sessions: Names
    """Session of each block."""
    panelists: Names
    """Panelist of each block."""

    def pair(self, version: int, against: int) -> tuple[Floats, Names, Names]:
        """Differences of two versions (by their column) where both were tasted, with their sessions and panelists."""
        difference = self.scores[:, version] - self.scores[:, against]
        both = ~np.isnan(difference)
        return difference[both], self.sessions[both], self.panelists[both]

    def by_panelist(self, version: int, against: int) -> Floats:
        """One difference for each panelist who tasted both in one session: the mean over their sessions."""
        difference, _, panelists = self.pair(version, against)
        place = np.unique(panelists, return_inverse=True)[1]
        return np.bincount(place, difference) / np.bincount(place) if len(place) else np.empty(0)


def blocks_of(frame: pl.DataFrame) -> Blocks:
    """Set out the scores of one attribute; `frame` as `Part.frame`, versions in rising order."""
    cells = (
        frame.group_by("session", "panelist", "version")
        .agg(pl.col("score").mean(), first=(pl.col("position") == 1).cast(pl.Float64).mean())
        .sort("session", "panelist", "version")
    )
    wide = {name: _wide(cells, name) for name in ("score", "first")}
    known = frame["position"].null_count() == 0
    return Blocks(
        scores=_numbers(wide["score"]),
        first=_numbers(wide["first"]) if known else None,
        sessions=wide["score"]["session"].to_numpy().astype(str),
        panelists=wide["score"]["panelist"].to_numpy().astype(str),
    )


def _wide(cells: pl.DataFrame, values: str) -> pl.DataFrame:
    wide = cells.pivot(on="version", index=["session", "panelist"], values=values)
    versions = [str(version) for version in cells["version"].unique().sort()]
    return wide.select("session", "panelist", *versions)


def _numbers(wide: pl.DataFrame) -> Floats:
    return wide.drop("session", "panelist").cast(pl.Float64).fill_null(float("nan")).to_numpy()
