"""Is it rising or falling? The change a week of small weekly counts, with its interval."""

from __future__ import annotations

import warnings
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

LEAST_WEEKS: Final = 5
LEAST_UNITS: Final = 20.0


@dataclass(frozen=True, kw_only=True)
class Trend:
    """Change from week to week as a share (0.02 = 2 % more each week), with its 95 % interval."""

    change: float | None
    low: float | None
    high: float | None
    p_value: float | None
    weeks: int
    why_not: str = ""
    """Why there is no figure."""


def weekly_trend(weeks: Sequence[int], counts: Sequence[float], exposure: Sequence[float]) -> Trend:
    """Log-linear trend of counts with an exposure each, by quasi-Poisson regression (McCullagh & Nelder 1989, ch. 9).

    The variance is the dispersion (Pearson chi-squared over its degrees of freedom, not below 1) times the mean, and
    the interval uses Student's t on weeks - 2 degrees of freedom. Voids can make a week negative: it counts as 0.

    Args:
        weeks: number of the week; need not be without gaps.
        counts: serves in it.
        exposure: days on the menu in it, or their weight; weeks of 0 are left out.
    """
    from scipy.stats import t as student
    from statsmodels.genmod.families import Poisson
    from statsmodels.genmod.generalized_linear_model import GLM
    from statsmodels.tools.sm_exceptions import PerfectSeparationWarning

    open_weeks = np.asarray(exposure, dtype=float) > 0
    x = np.asarray(weeks, dtype=float)[open_weeks]
    y = np.clip(np.asarray(counts, dtype=float)[open_weeks], 0, None)
    span = np.asarray(exposure, dtype=float)[open_weeks]
    n = len(x)
    if n < LEAST_WEEKS:
        return _no_trend(n, f"{n} weeks on the menu, at least {LEAST_WEEKS} needed")
    if y.sum() < LEAST_UNITS or (y > 0).sum() < LEAST_WEEKS:
        return _no_trend(n, f"{y.sum():.0f} serves in {(y > 0).sum()} weeks, too few")
    design = np.column_stack([np.ones(n), x - x.mean()])
    with warnings.catch_warnings():
        # A fit without any scatter is told as a possible separation; with sales in five weeks or more it is none.
        warnings.simplefilter("ignore", PerfectSeparationWarning)
        fitted = GLM(y, design, family=Poisson(), offset=np.log(span)).fit()
    scale = max(1.0, float(fitted.pearson_chi2) / (n - 2))
    slope, error = float(fitted.params[1]), float(fitted.bse[1]) * scale**0.5
    reach = float(student.ppf(0.975, n - 2)) * error
    return Trend(
        change=float(np.expm1(slope)),
        low=float(np.expm1(slope - reach)),
        high=float(np.expm1(slope + reach)),
        p_value=float(2 * student.sf(abs(slope) / error, n - 2)),
        weeks=n,
    )


def _no_trend(weeks: int, why_not: str) -> Trend:
    return Trend(change=None, low=None, high=None, p_value=None, weeks=weeks, why_not=why_not)
