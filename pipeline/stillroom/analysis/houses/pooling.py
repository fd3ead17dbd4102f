"""Shares of many houses, each drawn towards the group's by as much as it is unsure: a hierarchical beta-binomial.

Houses' true shares are taken as drawn from a beta distribution, its two parameters from the vague distribution
(alpha + beta)^(-5/2), and both are integrated over a grid: Gelman et al. 2013, Bayesian Data Analysis, 3rd ed.,
section 5.3. The grid, in place of the best parameters alone, keeps the intervals honest with few houses.
"""

from __future__ import annotations

import zlib
from dataclasses import dataclass
from typing import Final

import numpy as np
import polars as pl

from stillroom.analysis.houses.scatter import Floats, worth

COARSE: Final = 21
FINE: Final = 25
NEGLIGIBLE: Final = 1e-4
"""Part of the most likely cell's weight below which the grid ends."""
WIDEST: Final = (-9.0, 9.0)
"""Logit of the mean share: from one in eight thousand to all but that."""
PRECISIONS: Final = (0.0, 14.0)
"""Logarithm of alpha + beta: from houses that differ as much as can be to houses that are all but alike."""
DRAWS: Final = 1000


@dataclass(frozen=True, kw_only=True)
class Pooled:
    """What is known of each house's true share, and of the group's."""

    mean: Floats
    low: Floats
    high: Floats
    """One a house: its share drawn towards the group's, with its 95 % interval."""
    a: Floats
    b: Floats
    """Parameters of the beta distribution with these moments."""
    group: float
    """Mean share of a house."""
    spread: float
    """Standard deviation of houses' true shares."""


def pool(part: Floats, whole: Floats) -> Pooled:
    """Draw each house's share towards the group's.

    Args:
        part, whole: successes and trials of each house, not below nought; need not be whole numbers.
    """
    from scipy import special

    mean, precision, weight = _grid(part, whole)
    first = (part[:, None] + mean * precision) / (whole[:, None] + precision)
    variance = first * (1 - first) / (whole[:, None] + precision + 1)
    own = first @ weight
    scatter = variance @ weight + np.maximum((first**2) @ weight - own**2, 0.0)
    group = float(mean @ weight)
    size = np.maximum(own * (1 - own) / np.maximum(scatter, 1e-300) - 1, 1e-3)
    ends = special.betaincinv(own * size, (1 - own) * size, np.array([[0.025], [0.975]]))
    return Pooled(
        mean=own,
        low=ends[0],
        high=ends[1],
        a=own * size,
        b=(1 - own) * size,
        group=group,
        spread=float(np.sqrt((mean * (1 - mean) / (1 + precision)) @ weight)),
    )


def log_likelihood(part: Floats, whole: Floats, a: Floats, b: Floats) -> Floats:
    """Marginal log-likelihood of each pair of parameters, but for a constant.

    Shapes: part, whole (houses,); a, b (pairs,) -> (pairs,).
    """
    from scipy.special import betaln

    found = betaln(a + part[:, None], b + (whole - part)[:, None]).sum(axis=0) - len(part) * betaln(a, b)
    return np.asarray(found)


def _grid(part: Floats, whole: Floats) -> tuple[Floats, Floats, Floats]:
    """Mean share, precision and weight of each cell, around where the weight lies."""
    middles, precisions = (np.linspace(*ends, COARSE) for ends in (WIDEST, PRECISIONS))
    overall = (part.sum() + 0.5) / (whole.sum() + 1)
    middles = middles + np.log(overall / (1 - overall))
    for cells in (FINE, FINE):
        weight = _weights(part, whole, middles, precisions)
        kept = weight > NEGLIGIBLE * weight.max()
        middles, precisions = (
            _around(axis, kept.any(axis=other), cells) for axis, other in ((middles, 1), (precisions, 0))
        )
    weight = _weights(part, whole, middles, precisions)
    middle, precision = np.meshgrid(middles, precisions, indexing="ij")
    return 1 / (1 + np.exp(-middle.ravel())), np.exp(precision.ravel()), (weight / weight.sum()).ravel()


def _around(axis: Floats, kept: np.ndarray, cells: int) -> Floats:
    """The axis anew, from a step before the first cell that counts to a step after the last."""
    step, own = axis[1] - axis[0], axis[kept]
    return np.linspace(own[0] - step, min(own[-1] + step, max(axis[-1], own[-1])), cells)


def _weights(part: Floats, whole: Floats, middles: Floats, precisions: Floats) -> Floats:
    """Posterior of each cell, up to a factor; the logit of the mean and the logarithm of the precision are the axes."""
    middle, precision = (one.ravel() for one in np.meshgrid(middles, precisions, indexing="ij"))
    mean = 1 / (1 + np.exp(-middle))
    size = np.exp(precision)
    # (alpha + beta)^(-5/2) d alpha d beta is even in the mean and in (alpha + beta)^(-1/2).
    prior = np.log(mean * (1 - mean)) - precision / 2
    found = log_likelihood(part, whole, mean * size, (1 - mean) * size) + prior
    return np.asarray(np.exp(found - found.max()).reshape(len(middles), len(precisions)))


def side_by_side(sums: pl.DataFrame) -> tuple[pl.DataFrame, Pooled]:
    """Houses' shares of one thing beside each other.

    Args:
        sums: as `scatter.summed` gives them, of one thing.

    Returns:
        house, units, part, whole, share, worth (see `scatter.worth`), pooled with low and high (95 %), by share; and
        what they were pooled to.
    """
    ordered = sums.sort("house")
    worths = worth(ordered)
    share = (ordered["part"] / ordered["whole"]).to_numpy()
    pooled = pool(share * worths, worths)
    rows = ordered.select("house", "units", "part", "whole").with_columns(
        pl.Series("share", share),
        pl.Series("worth", worths),
        pl.Series("pooled", pooled.mean),
        pl.Series("low", pooled.low),
        pl.Series("high", pooled.high),
    )
    return rows, pooled


def rank_ranges(pooled: Pooled) -> tuple[Floats, Floats]:
    """The ranks that each house may have, highest share first: both ends of a 95 % range, one a house.

    From draws of all houses' shares (Goldstein & Spiegelhalter 1996, J. R. Statist. Soc. A 159:385, who warn of
    ranks without a range). Seeded from the shares.
    """
    seed = zlib.crc32(np.round(pooled.mean, 9).tobytes())
    draws = np.random.default_rng(seed).beta(pooled.a, pooled.b, (DRAWS, len(pooled.a)))
    ranks = 1 + np.argsort(np.argsort(-draws, axis=1), axis=1)
    low, high = np.quantile(ranks, [0.025, 0.975], axis=0, method="nearest")
    return low, high
