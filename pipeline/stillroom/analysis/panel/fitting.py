"""Which model suits the design of a tasting, and its fit."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt
import polars as pl

from stillroom.analysis.panel.attributes import Part, codes
from stillroom.analysis.panel.block_anova import fit_complete_blocks
from stillroom.analysis.panel.blocks import Blocks
from stillroom.analysis.panel.mixed import fit_mixed
from stillroom.analysis.panel.serving_order import first_glasses
from stillroom.analysis.panel.version_fit import CannotTell, FirstGlass, VersionFit


@dataclass(frozen=True, kw_only=True)
class Fitted:
    """The model of one attribute."""

    fit: VersionFit
    mixed_up: npt.NDArray[np.bool_]
    """Pairs of versions that serving order and version cannot be told apart for."""


def fit_part(part: Part, blocks: Blocks) -> Fitted:
    """Analysis of variance where everybody tasted everything, else the mixed model.

    Where every position is known and the first glass's effect can be told, it is taken out: one degree of freedom. In a
    small panel of even orders it cancels, and is told but left in the scatter.

    Raises:
        CannotTell: the scores do not allow it.
    """
    if len(part.versions) == 1:
        raise CannotTell(f"only version {part.versions[0]} was tasted, so there is nothing to compare it with")
    whole = complete(blocks)
    if whole is not None:
        order = first_glasses(whole.scores, whole.first)
        fit = fit_complete_blocks(whole.scores, whole.first if order.told and not order.cancels else None)
        if order.cancels:
            fit = replace(fit, first_glass=_beside(whole))
        return Fitted(fit=fit, mixed_up=order.mixed_up)
    frame = part.frame
    if frame.group_by("panelist").agg(pl.col("version").n_unique())["version"].max() == 1:
        raise CannotTell("nobody tasted two versions, so the people cannot be told from the versions")
    order = first_glasses(blocks.scores, blocks.first)
    fit = fit_mixed(
        frame["score"].to_numpy(),
        codes(frame["version"]),
        codes(frame["panelist"]),
        codes(frame["session"]),
        (frame["position"] == 1).cast(pl.Float64).to_numpy() if order.told else None,
    )
    return Fitted(fit=fit, mixed_up=order.mixed_up)


def _beside(whole: Blocks) -> FirstGlass | None:
    """What the first glass gets, told beside a fit that leaves it in the scatter; None where it explains all."""
    try:
        found = fit_complete_blocks(whole.scores, whole.first).first_glass
    except CannotTell:
        return None
    return found and replace(found, taken_out=False)


def complete(blocks: Blocks) -> Blocks | None:
    """One row a panelist, sessions averaged, where everybody had all versions alike often; None where not.

    The same number within each session, so that sessions cancel, and in all, so that all means weigh the same.
    """
    often = blocks.counts[:, :1]
    if (blocks.counts != often).any():
        return None
    names, place = np.unique(blocks.panelists, return_inverse=True)
    in_all = np.bincount(place, often[:, 0])
    if (in_all != in_all[0]).any():
        return None
    # A session counts as often as it was tasted.
    share = np.zeros((len(names), len(place)))
    share[place, range(len(place))] = often[:, 0] / in_all[place]
    return replace(
        blocks,
        scores=share @ blocks.scores,
        counts=np.repeat(in_all[:, None], blocks.counts.shape[1], axis=1),
        first=None if blocks.first is None else share @ blocks.first,
        sessions=np.full(len(names), ""),
        panelists=names,
    )
