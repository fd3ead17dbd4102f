"""One difference between two versions from the panels of many houses: the house is a random effect.

Each house's panel gives a difference; houses agree on it but for a spread of their own. The mean over houses is that
of a random-effects meta-analysis: the spread after Paule & Mandel 1982 (J. Res. Natl. Bur. Stand. 87:377), the
interval after Hartung & Knapp 2001 (Stat. Med. 20:3875), which holds with few houses where the usual one is too narrow
(IntHout et al. 2014, BMC Med. Res. Methodol. 14:25), never narrower than chance within the houses alone.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
import polars as pl

from stillroom.analysis.houses.scatter import Floats
from stillroom.analysis.roots import root

LEAST_HOUSES: Final = 2
LEAST_PANELISTS: Final = 2
"""Of a house, who scored both versions."""


@dataclass(frozen=True, kw_only=True)
class Combined:
    """The difference over all houses, newer minus older."""

    difference: float
    error: float
    """Standard error of the mean over houses, of `houses` - 1 degrees of freedom."""
    p_value: float
    spread: float
    """Standard deviation of houses' own differences."""
    houses: int

    def interval(self, level: float = 0.95) -> tuple[float, float]:
        """Where the mean over houses lies with that probability."""
        from scipy.special import stdtrit

        reach = float(stdtrit(self.houses - 1, (1 + level) / 2)) * self.error
        return self.difference - reach, self.difference + reach


def combined(differences: Sequence[float] | Floats, variances: Sequence[float] | Floats) -> Combined | None:
    """The mean of houses' differences; None with fewer than two.

    Args:
        differences: one a house.
        variances: of each as an estimate, above nought.

    >>> round(combined([0.5, 0.7, 0.6], [0.04, 0.04, 0.04]).difference, 3)
    0.6
    """
    from scipy.special import stdtr

    seen, own = np.asarray(differences, dtype=float), np.asarray(variances, dtype=float)
    freedom = len(seen) - 1
    if freedom < LEAST_HOUSES - 1:
        return None
    between = _paule_mandel(seen, own)
    weight = 1 / (own + between)
    mean = float(np.average(seen, weights=weight))
    scale = max(1.0, float((weight * (seen - mean) ** 2).sum()) / freedom)
    error = float(np.sqrt(scale / weight.sum()))
    return Combined(
        difference=mean,
        error=error,
        p_value=float(2 * stdtr(freedom, -abs(mean) / error)),
        spread=float(np.sqrt(between)),
        houses=len(seen),
    )


def _paule_mandel(seen: Floats, own: Floats) -> float:
    """The variance between houses at which their weighted squares are as many as there are degrees of freedom."""

    def over(between: float) -> float:
        weight = 1 / (own + between)
        return float((weight * (seen - np.average(seen, weights=weight)) ** 2).sum()) - (len(seen) - 1)

    if over(0.0) <= 0:
        return 0.0
    most = 10 * float(np.var(seen)) * len(seen) + float(own.max())
    return root(over, 0.0, most)


def by_house(scores: pl.DataFrame, newer: int, older: int) -> pl.DataFrame:
    """Each house's difference of two versions of one attribute of one spec, by the panelists who scored both.

    Args:
        scores: house, version, panelist_number, score.

    Returns:
        house, panelists, difference, variance (of the difference, from the scatter of panelists' own differences in
        all houses together: a few panelists say little of theirs), by house; none without scatter.
    """
    each = (
        scores.filter(pl.col("version").is_in([newer, older]))
        .group_by("house", "panelist_number")
        .agg(
            pl.col("score").filter(pl.col("version") == newer).mean().alias("new"),
            pl.col("score").filter(pl.col("version") == older).mean().alias("old"),
        )
        .select("house", (pl.col("new") - pl.col("old")).alias("apart"))
        .drop_nulls()
        .sort("house", "apart")  # sums of doubles differ with their order
    )
    houses = (
        each.group_by("house", maintain_order=True)
        .agg(
            pl.len().alias("panelists"), pl.col("apart").mean().alias("difference"), pl.col("apart").var().alias("own")
        )
        .filter(pl.col("panelists") >= LEAST_PANELISTS)
        .sort("house")
    )
    freedom = pl.col("panelists") - 1
    pooled = (pl.col("own") * freedom).sum() / freedom.sum()
    return (
        houses.with_columns((pooled / pl.col("panelists")).alias("variance"))
        .filter(pl.col("variance") > 0)
        .select("house", "panelists", "difference", "variance")
    )
