"""Whether what a version gets can be told from what the first glass gets."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from stillroom.analysis.panel.version_fit import Floats


@dataclass(frozen=True, kw_only=True)
class FirstGlasses:
    """What the positions allow."""

    fitted: bool
    """The effect of the first glass can be told from versions and panelists, and there is scatter left to judge by."""
    mixed_up: npt.NDArray[np.bool_]
    """Pairs that order and version cannot be told apart for, shape (versions, versions)."""


def first_glasses(scores: Floats, first: Floats | None) -> FirstGlasses:
    """Look at a table of panelists x versions (nan: not tasted) and the shares of glasses that stood first.

    The first glass of a row is liked more, or less, whatever is in it (ISO 8587 and ISO 29842 have orders balanced for
    that, from memory). Where one version stood first for everybody, its step and the first glass's are one and the
    same, and no analysis parts them.
    """
    versions = scores.shape[1]
    nothing = np.zeros((versions, versions), dtype=bool)
    if first is None:
        return FirstGlasses(fitted=False, mixed_up=nothing)
    block, version = np.nonzero(~np.isnan(scores))
    stood = first[block, version]
    design = np.hstack([np.eye(len(scores))[block], np.eye(versions)[version]])
    explained = np.linalg.lstsq(design, stood, rcond=None)[0]
    left = float(((stood - design @ explained) ** 2).sum())
    enough = len(stood) > np.linalg.matrix_rank(design) + 1
    if left > 1e-9 and enough:
        return FirstGlasses(fitted=True, mixed_up=nothing)
    lean = explained[-versions:]
    return FirstGlasses(fitted=False, mixed_up=np.abs(lean[:, None] - lean[None, :]) > 1e-6)
