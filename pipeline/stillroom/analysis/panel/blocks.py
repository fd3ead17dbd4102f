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
    counts: Floats
    """How many scores each of them is the mean of, same shape; 0 where not tasted."""
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
    session, panelist, version = (frame[name].to_numpy() for name in ("session", "panelist", "version"))
    people, place = np.unique(panelist.astype(str), return_inverse=True)
    sittings, sitting = np.unique(session.astype(str), return_inverse=True)
    found, block = np.unique(sitting * len(people) + place, return_inverse=True)
    versions, column = np.unique(version, return_inverse=True)
    shape = (len(found), len(versions))
    cell = block * len(versions) + column

    def summed(values: Floats) -> Floats:
        return np.asarray(np.bincount(cell, values, minlength=shape[0] * shape[1]).reshape(shape), float)

    counts = summed(np.ones(len(cell)))
    each = np.where(counts > 0, counts, np.nan)
    known = frame["position"].null_count() == 0
    return Blocks(
        scores=summed(frame["score"].to_numpy()) / each,
        counts=counts,
        first=summed((frame["position"].to_numpy() == 1).astype(float)) / each if known else None,
        sessions=sittings[found // len(people)],
        panelists=people[found % len(people)],
    )
