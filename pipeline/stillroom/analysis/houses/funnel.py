"""Which houses lie further from the group than chance and the usual difference between houses explain: funnel limits.

Spiegelhalter 2005, Funnel plots for comparing institutional performance, Stat. Med. 24:1185. Shares are compared on
the scale of their arcsine, where chance is the same at every share. Houses differ for real, so the limits are widened
by the spread between them, estimated from winsorised scores so that the houses looked for do not hide themselves; of
the two ways it is added to each house's own variance, as he prefers (Spiegelhalter 2005, Qual. Saf. Health Care
14:347): a large house is then no outlier for being large.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

import numpy as np

from stillroom.analysis.houses.scatter import Floats

WINSORISED: Final = 0.1
"""Part of the scores that is drawn in at either end."""
OF_WINSORISED: Final = 0.6787
"""Mean square of standard normal scores that are drawn in so: without it the spread would be told too small."""
ROUNDS: Final = 10
DEGREES: Final = 40
"""Of freedom, at most, by which the limits are drawn: a little more houses lie far out than a normal curve says."""
LEAST_HOUSES: Final = 5
"""Houses from which the spread between them can be told."""

Side = Literal["above", "below", ""]


@dataclass(frozen=True, kw_only=True)
class Funnel:
    """Where houses are expected to lie, by what their figures are worth."""

    target: float
    """The group's share."""
    overdispersion: float
    """Mean square of the winsorised scores, against chance alone: 1 where houses do not differ."""
    spread: float
    """Standard deviation between houses, on the scale of the arcsine."""
    houses: int

    def ends(self, worth: Floats, beyond: float) -> tuple[Floats, Floats]:
        """The limits for figures of that worth, that a house crosses with chance `beyond` (both sides together)."""
        from scipy.special import stdtrit

        reach = stdtrit(min(self.houses - 1, DEGREES), 1 - beyond / 2) * np.sqrt(1 / (4 * worth) + self.spread**2)
        middle = np.arcsin(np.sqrt(self.target))
        ends = (np.clip(middle + side * reach, 0, np.pi / 2) for side in (-1, 1))
        low, high = (np.asarray(np.sin(end) ** 2) for end in ends)
        return low, high

    def outer(self, things: int = 1) -> float:
        """Chance of the outer limits: one group in twenty has any house beyond those of any thing where none is unlike.

        Bonferroni's; of one thing about that of three standard deviations with twenty houses.

        Args:
            things: how many are compared, preparations and drinks.
        """
        return 0.05 / (self.houses * things)


def funnel(share: Floats, worth: Floats) -> Funnel | None:
    """The funnel of houses' shares; None with fewer than five.

    Args:
        share: 0 to 1, one a house.
        worth: trials that it is worth.
    """
    if len(share) < LEAST_HOUSES:
        return None
    seen, precision = np.arcsin(np.sqrt(np.clip(share, 0, 1))), 4 * worth
    between, over = 0.0, 1.0
    middle = _middle(seen, precision)
    for _ in range(ROUNDS):
        weight = 1 / (1 / precision + between)
        middle = float(np.average(_drawn_in(seen, middle, weight), weights=weight))
        scores = (seen - middle) * np.sqrt(precision)
        low, high = np.quantile(scores, [WINSORISED, 1 - WINSORISED])
        over = float(np.mean(np.clip(scores, low, high) ** 2)) / OF_WINSORISED
        count, total = len(share), precision.sum()
        was = between
        between = max(0.0, (count * over - (count - 1)) / (total - (precision**2).sum() / total))
        if abs(between - was) <= 1e-9:
            break
    return Funnel(
        target=float(np.sin(middle) ** 2), overdispersion=over, spread=float(np.sqrt(between)), houses=len(share)
    )


def _middle(seen: Floats, weight: Floats) -> float:
    """Where the houses lie: their weighted median."""
    order = np.argsort(seen)
    return float(seen[order][np.searchsorted(np.cumsum(weight[order]), weight.sum() / 2)])


def _drawn_in(seen: Floats, middle: float, weight: Floats) -> Floats:
    """The figures with the furthest of them drawn in, so that an unlike house does not move the target."""
    scores = (seen - middle) * np.sqrt(weight)
    low, high = np.quantile(scores, [WINSORISED, 1 - WINSORISED])
    return np.asarray(middle + np.clip(scores, low, high) / np.sqrt(weight))


def outside(share: Floats, worth: Floats, of: Funnel, things: int = 1) -> list[Side]:
    """For each house, whether it lies beyond the outer limits."""
    low, high = of.ends(worth, of.outer(things))
    return [
        "above" if one > up else "below" if one < down else "" for one, down, up in zip(share, low, high, strict=True)
    ]
