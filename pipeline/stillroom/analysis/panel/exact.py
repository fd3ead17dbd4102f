"""The exact test beside the model: the signs of the panelists' own differences, turned in every possible way."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from stillroom.analysis.panel.version_fit import Floats

MOST_SUMS: Final = 200_000
"""Different sums that are followed exactly; beyond, that many random turns are drawn instead."""


@dataclass(frozen=True, kw_only=True)
class SignFlip:
    """How the panelists' differences between two versions lie, and how often chance alone is as one-sided."""

    higher: int
    """Panelists who gave the version looked at more points."""
    lower: int
    panelists: int
    """All who tasted both, those without a difference too."""
    p: float
    """Two-sided, of this pair alone."""


def sign_flip(differences: Floats) -> SignFlip:
    """Fisher's sign-flip test: were the two versions alike, each panelist's difference might as well be turned round.

    `differences`: one for each panelist, in points. p is the share of all 2^n turns whose sum lies at least as far
    from 0. Source: Fisher (1935), *The Design of Experiments*, section 21; Lehmann & Romano, *Testing Statistical
    Hypotheses*, section 15.2 (from memory). Where there are too many sums to follow (only with scores of many
    decimals), random turns with the observed one among them: Phipson & Smyth (2010), from memory.

    >>> round(sign_flip(np.array([1.0, 2, 1, 3, 1, 2])).p, 5)  # all six agree: 2 of 64
    0.03125
    """
    rounded = np.round(differences, 9)
    moved = np.abs(rounded[rounded != 0])
    return SignFlip(
        higher=int((rounded > 0).sum()),
        lower=int((rounded < 0).sum()),
        panelists=len(rounded),
        p=_turned(moved, abs(float(rounded.sum()))) if len(moved) else 1.0,
    )


def smallest_p(panelists: int) -> float:
    """The smallest p that so many panelists can reach: all of them agree.

    >>> smallest_p(4), smallest_p(5), smallest_p(6)
    (0.125, 0.0625, 0.03125)
    """
    return float(min(2.0 ** (1 - panelists), 1.0))


def _turned(sizes: Floats, observed: float) -> float:
    sums: Floats = np.zeros(1)
    chance: Floats = np.ones(1)
    for size in sizes:
        # Equal sums are one: scores on a grid have few, however many people there are.
        sums, place = np.unique(np.round(np.concatenate([sums - size, sums + size]), 9), return_inverse=True)
        chance = np.asarray(np.bincount(place, np.concatenate([chance, chance]) / 2), float)
        if len(sums) > MOST_SUMS:
            return _drawn(sizes, observed)
    return float(min(chance[np.abs(sums) >= observed - 1e-6].sum(), 1.0))


def _drawn(sizes: Floats, observed: float) -> float:
    turns = np.random.default_rng(0).choice([-1.0, 1.0], size=(MOST_SUMS // 10, len(sizes)))
    as_far = int((np.abs(turns @ sizes) >= observed - 1e-6).sum())
    return (as_far + 1) / (len(turns) + 1)
