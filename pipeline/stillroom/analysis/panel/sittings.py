"""The sittings of one comparison: whether they contradict one another."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from stillroom.analysis.panel.blocks import Names
from stillroom.analysis.panel.version_fit import Floats
from stillroom.analysis.tails import f_sf


@dataclass(frozen=True, kw_only=True)
class Sittings:
    """Mean difference of two versions in each session where both were tasted."""

    sessions: tuple[str, ...]
    means: tuple[float, ...]
    p: float
    """Whether the sessions differ from one another by more than the panelists' scatter; 1 where it cannot be told."""

    @property
    def contradict(self) -> bool:
        """One sitting says one thing, another the opposite, and it is not their scatter."""
        return self.p <= 0.05 and min(self.means) < 0 < max(self.means)


def sittings_of(differences: Floats, sessions: Names) -> Sittings:
    """Compare the sessions: the version x session interaction of one pair, one difference a panelist and session.

    One-way analysis of variance between sessions; with the same people in each it errs towards saying nothing.
    """
    names = np.unique(sessions)
    groups = [differences[sessions == name] for name in names]
    means = tuple(float(group.mean()) for group in groups)
    return Sittings(sessions=tuple(map(str, names)), means=means, p=_between(groups))


def _between(groups: list[Floats]) -> float:
    between_df, within_df = len(groups) - 1, sum(map(len, groups)) - len(groups)
    if between_df < 1 or within_df < 1:
        return 1.0
    centre = np.concatenate(groups).mean()
    between = sum(len(group) * (group.mean() - centre) ** 2 for group in groups) / between_df
    within = sum(((group - group.mean()) ** 2).sum() for group in groups) / within_df
    if between <= 1e-12:
        return 1.0
    return 0.0 if within <= 1e-12 * between else float(f_sf(between / within, between_df, within_df))
