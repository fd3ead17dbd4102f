"""How much a house's own share scatters: what its figure is worth, in units that are wholly one thing or the other.

A share of amounts (lost of made, a drink's serves of all serves) is no share of independent pieces: batches are lost
whole, and weeks differ. The scatter between units, batches or weeks, tells what a house's figure is worth.
"""

from __future__ import annotations

from typing import Final

import numpy as np
import numpy.typing as npt
import polars as pl

Floats = npt.NDArray[np.float64]

LEAST_UNITS: Final = 2
"""Units of a house from which its scatter says anything."""
DRAWN: Final = 5.0
"""Units of the group's share that are mixed into a house's own, where its variance is scaled by it: one that lost
nothing in three batches does not lose nothing for certain."""


def summed(units: pl.DataFrame, *by: str) -> pl.DataFrame:
    """The sums that a house's share and its scatter need: one row a house (and whatever else it is told apart `by`).

    Args:
        units: house, `by`, part, whole: one row a unit, a batch or a week; those without a whole are left out.

    Returns:
        house, `by`, units (their number), part, whole, part_squared, whole_squared, both (sum of part x whole).
    """
    part, whole = pl.col("part"), pl.col("whole")
    return (
        units.filter(whole > 0)
        .sort("house", *by, "part", "whole")  # sums of doubles differ with their order
        .group_by("house", *by, maintain_order=True)
        .agg(
            pl.len().alias("units"),
            part.sum(),
            whole.sum(),
            (part**2).sum().alias("part_squared"),
            (whole**2).sum().alias("whole_squared"),
            (part * whole).sum().alias("both"),
        )
    )


def worth(sums: pl.DataFrame) -> Floats:
    """What each house's share is worth: as many all-or-nothing units of its own, one a house.

    The variance of a house's sum is that of the ratio estimator (Cochran 1977, Sampling Techniques, ch. 6, from
    memory), n / (n - 1) x sum (part - share x whole)^2. Three batches tell next to nothing of it, so houses tell it
    together: over share x (1 - share) it is taken as a x whole + b x sum whole^2, neither below nought (chance that
    falls on pieces, and chance that falls on whole units), fitted by weighted least squares. A house's figure is then
    worth whole^2 / (a x whole + b x sum whole^2).

    Args:
        sums: as `summed` gives them, of one thing.
    """
    from scipy.optimize import nnls

    n, part, whole, part_squared, whole_squared, both = (
        sums[name].cast(pl.Float64).to_numpy()
        for name in ("units", "part", "whole", "part_squared", "whole_squared", "both")
    )
    overall = part.sum() / whole.sum()
    patterns = np.column_stack([whole, whole_squared])
    several = n >= LEAST_UNITS
    if not several.any() or not 0 < overall < 1:
        return np.asarray(whole**2 / whole_squared)
    share = part / whole
    left = np.maximum(part_squared - 2 * share * both + share**2 * whole_squared, 0.0)
    drawn = (part + DRAWN * overall * whole / n) / (whole + DRAWN * whole / n)
    scaled = n[several] / (n[several] - 1) * left[several] / (drawn * (1 - drawn))[several]
    # The scatter of a variance goes with the variance itself: weights by the first fit make the second the better.
    expected = whole_squared[several]
    for _ in range(3):
        weight = np.sqrt(n[several] - 1) / expected
        amounts, _ = nnls(patterns[several] * weight[:, None], scaled * weight)
        if not amounts.any():
            return np.asarray(whole**2 / whole_squared)
        expected = patterns[several] @ amounts
    return np.asarray(whole**2 / (patterns @ amounts))
