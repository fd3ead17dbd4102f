"""Whether what a version gets can be told from what the first glass gets."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt

from stillroom.analysis.panel.version_fit import Floats

ENOUGH: Final = 10
"""Degrees of freedom of the scatter from which one more is well spent on the first glass: with fewer it costs more than
two panels in a hundred their verdict (`benchmarks/panels.py`)."""


@dataclass(frozen=True, kw_only=True)
class FirstGlasses:
    """What the positions allow."""

    told: bool
    """The effect of the first glass can be told from versions and panelists, and there is scatter left to judge by."""
    cancels: bool
    """Everybody's glasses are few, and every version stood first as often as any other, but for one glass: what the
    first glass gets cancels, so that it is left in the scatter."""
    mixed_up: npt.NDArray[np.bool_]
    """Pairs that order and version cannot be told apart for, shape (versions, versions)."""


def first_glasses(scores: Floats, first: Floats | None) -> FirstGlasses:
    """Look at a table of panelists x versions (nan: not tasted) and the shares of glasses that stood first.

    The first glass of a row is liked more, or less, whatever is in it (ISO 8587 and ISO 29842 have orders balanced for
    that, from memory). Where one version stood first for everybody, its step and the first glass's are one and the
    same, and no analysis parts them. All of it follows from the design, none from the scores.
    """
    versions = scores.shape[1]
    nothing = np.zeros((versions, versions), dtype=bool)
    if first is None:
        return FirstGlasses(told=False, cancels=False, mixed_up=nothing)
    block, version = np.nonzero(~np.isnan(scores))
    stood = first[block, version]
    design = np.hstack([np.eye(len(scores))[block], np.eye(versions)[version]])
    explained = np.linalg.lstsq(design, stood, rcond=None)[0]
    left = float(((stood - design @ explained) ** 2).sum())
    df = len(stood) - np.linalg.matrix_rank(design)
    if left > 1e-9 and df > 1:
        often, served = np.bincount(version, stood), np.bincount(version)
        cancels = df < ENOUGH and np.ptp(served) == 0 and np.ptp(often) <= 1 + 1e-9
        return FirstGlasses(told=True, cancels=bool(cancels), mixed_up=nothing)
    lean = explained[-versions:]
    return FirstGlasses(told=False, cancels=False, mixed_up=np.abs(lean[:, None] - lean[None, :]) > 1e-6)
