"""How many tasters a difference takes, by the rule that the report decides by."""

from __future__ import annotations

import bisect
from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from typing import Final

import numpy as np
from scipy import special

from stillroom.analysis.panel.anytime import anytime_critical
from stillroom.analysis.panel.simultaneous import many_to_one_critical, studentized_range_critical
from stillroom.analysis.tails import chi2_ppf

MOST_TASTERS: Final = 1000
"""A panel larger than this is not worth naming a number for."""
MOST_ROUNDS: Final = 4
"""Rounds of the same samples that the same people may be asked to taste."""
FEWEST: Final = 6
"""Panelists from whose scatter a number of tasters is worked out: fewer hardly know their own scatter."""
Critical = Callable[[int, float], float]
"""The |t| that counts, from the number of tasters and the degrees of freedom."""


@dataclass(frozen=True, kw_only=True)
class Sizes:
    """Tasters in all, complete panels; None beyond `MOST_TASTERS`."""

    needed: int | None
    low: int | None
    """Were the scatter as small as it may be: lower 95 % limit."""
    high: int | None


def tasters_needed(
    residual_sd: float, versions: int, size: float, comparisons: int, alpha: float = 0.05, power: float = 0.8
) -> int | None:
    """Smallest complete panel, tasting in one planned sitting, that calls a true difference of `size` points clear.

    `comparisons`: all pairs of the versions (after Tukey), or those with one of them (Dunnett). Power of the pair by
    the noncentral t with (n - 1)(versions - 1) degrees of freedom: Cohen (1988), *Statistical Power Analysis*,
    chapter 2, at the critical value of the correction.

    >>> tasters_needed(1.0, 3, 1.0, 3), tasters_needed(1.0, 3, 1.0, 2)
    (22, 20)
    """
    return _smallest(residual_sd, versions, size, power, partial(_corrected, versions, comparisons, alpha))


def tasters_needed_again(residual_sd: float, versions: int, size: float, comparisons: int) -> int | None:
    """Smallest panel where it is judged by what holds however often one has looked: unplanned further sittings."""
    return _smallest(
        residual_sd, versions, size, 0.8, lambda tasters, df: anytime_critical(tasters, df, 0.05 / comparisons)
    )


def rounds_needed_again(residual_sd: float, panelists: int, versions: int, size: float, comparisons: int) -> int | None:
    """Rounds in all of the same people, judged likewise; None beyond `MOST_ROUNDS`.

    As far as the scatter is their own from round to round: what they like differently from one another does not wear
    off by tasting again.
    """
    df = (panelists - 1) * (versions - 1)
    counts = anytime_critical(panelists, df, 0.05 / comparisons)
    shift = size / residual_sd * np.sqrt(panelists / 2)
    rounds = range(2, MOST_ROUNDS + 1)
    return next((n for n in rounds if _power(counts, df, shift * np.sqrt(n)) >= 0.8), None)


def sizes(
    residual_sd: float, df: float, versions: int, size: float, comparisons: int, alpha: float = 0.05, power: float = 0.8
) -> Sizes:
    """`tasters_needed` with the range that the uncertain scatter leaves: 95 % limits of a standard deviation."""
    smallest, largest = (residual_sd * np.sqrt(df / chi2_ppf(level, df)) for level in (0.975, 0.025))
    needed, low, high = (
        tasters_needed(float(sd), versions, size, comparisons, alpha, power) for sd in (residual_sd, smallest, largest)
    )
    return Sizes(needed=needed, low=low, high=high)


def _corrected(versions: int, comparisons: int, alpha: float, tasters: int, df: float) -> float:
    if comparisons < versions * (versions - 1) // 2:
        return many_to_one_critical((0.5**0.5,) * comparisons, df, alpha)
    return studentized_range_critical(versions, df, alpha) / 2**0.5


def _smallest(residual_sd: float, versions: int, size: float, power: float, critical: Critical) -> int | None:
    if residual_sd <= 0 or size <= 0:
        return None
    shift = size / (residual_sd * np.sqrt(2))

    def power_of(tasters: int) -> float:
        df = (tasters - 1) * (versions - 1)
        return _power(critical(tasters, df), df, shift * np.sqrt(tasters))

    panels = range(2, MOST_TASTERS + 1)
    smallest = bisect.bisect_left(panels, power, key=power_of)  # a larger panel always sees more
    return panels[smallest] if smallest < len(panels) else None


def _power(critical: float, df: float, shift: float) -> float:
    """Chance that t is beyond its critical value on the right side."""
    reached = 1 - float(special.nctdtr(df, shift, critical)) if np.isfinite(critical) else 0.0
    return 1.0 if np.isnan(reached) else reached  # SciPy's ends in nan at large shifts, where the power is 1
