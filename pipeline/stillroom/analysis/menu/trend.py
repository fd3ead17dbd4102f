"""Is it rising or falling, or did it step to another level? Small weekly counts, with intervals."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from stillroom.analysis.course import WORTH, Course, Kind, Scatter, course
from stillroom.words import counted

LEAST_WEEKS: Final = 5
LEAST_UNITS: Final = 20.0
LEAST_ALIKE: Final = 3
"""Drinks from which it can be told how much they usually vary."""
MOST_DEGREES: Final = 30.0
MOST_ROUNDS: Final = 100


@dataclass(frozen=True, kw_only=True)
class Step:
    """A lasting change from one week to the next."""

    week: int
    """The first week of the new level."""
    ratio: float
    """Sales a day after over before, from the step before it to the one after."""
    low: float
    high: float
    """Its 95 % interval."""
    known: bool
    """Something is known to have changed in that week."""


@dataclass(frozen=True, kw_only=True)
class Trend:
    """Change from week to week as a share (0.02 = 2 % more each week), with its 95 % interval."""

    change: float | None
    low: float | None
    high: float | None
    p_value: float | None
    """That a series without step and slope would look like it (see `course`)."""
    weeks: int
    kind: Kind = "level"
    """What holds where the p-value convinces."""
    step: Step | None = None
    """The last step, where `kind` is 'step'."""
    why_not: str = ""
    """Why there is no figure."""


def usual_scatter(series: Sequence[tuple[Sequence[float], Sequence[float]]]) -> Scatter | None:
    """How much weekly counts vary beyond chance in the mean drink of several; None where fewer than three can tell.

    Args:
        series: counts and exposure of each drink's weeks.

    Returns:
        variance over mean (not below 1), and the degrees of freedom it is worth for each of them: many where the drinks
        are alike, few where they are not.
    """
    found = []
    for counts, exposure in series:
        y, span = np.clip(np.asarray(counts, dtype=float), 0, None), np.asarray(exposure, dtype=float)
        y, span = y[span > 0], span[span > 0]
        if len(y) >= LEAST_WEEKS and y.sum() >= LEAST_UNITS:
            mean = y.sum() / span.sum() * span
            found.append((float((np.diff((y - mean) / np.sqrt(mean)) ** 2).mean() / 2), WORTH * (len(y) - 1)))
    if len(found) < LEAST_ALIKE:
        return None
    each, degrees = np.array(found).T
    mean = max(1.0, float(each.mean()))
    unlike = float(np.var(np.maximum(each, 1.0) / mean) - (2 / degrees).mean())
    return Scatter(variance=mean, degrees=2 / max(unlike, 2 / MOST_DEGREES))


def weekly_trend(
    weeks: Sequence[int],
    counts: Sequence[float],
    exposure: Sequence[float],
    known: Sequence[float] = (),
    usual: Scatter | None = None,
) -> Trend:
    """Whether counts with an exposure each keep their level, step or slope; with the log-linear trend in any case.

    The trend is fitted by quasi-Poisson regression (McCullagh & Nelder 1989, ch. 9).

    The variance is the dispersion (Pearson chi-squared over its degrees of freedom, not below 1) times the mean, and
    the interval uses Student's t on weeks - 2 degrees of freedom. Voids can make a week negative: it counts as 0.

    Args:
        weeks: number of the week; need not be without gaps.
        counts: serves in it.
        exposure: days on the menu in it, or their weight; weeks of 0 are left out.
        known: when something is known to have changed, in weeks on the same count; 3.5 is the middle of week 3.
        usual: how much the house's drinks vary from week to week, as `usual_scatter` gives it.
    """
    from scipy.special import stdtrit

    open_weeks = np.asarray(exposure, dtype=float) > 0
    x = np.asarray(weeks, dtype=float)[open_weeks]
    y = np.clip(np.asarray(counts, dtype=float)[open_weeks], 0, None)
    span = np.asarray(exposure, dtype=float)[open_weeks]
    n = len(x)
    if n < LEAST_WEEKS:
        return _no_trend(n, f"{counted(n, 'week')} on the menu, at least {LEAST_WEEKS} needed")
    if y.sum() < LEAST_UNITS or (y > 0).sum() < LEAST_WEEKS:
        return _no_trend(n, f"{y.sum():.0f} serves in {(y > 0).sum()} weeks, too few")
    design = np.column_stack([np.ones(n), x - x.mean()])
    coefficients, errors, pearson = poisson_regression(y, design, span)
    scale = max(1.0, pearson / (n - 2))
    slope, error = float(coefficients[1]), float(errors[1]) * scale**0.5
    reach = float(stdtrit(n - 2, 0.975)) * error
    # Within a week, the new level shows in that week already or from the next one on.
    places = sorted({int(np.searchsorted(x, edge)) for when in known for edge in (np.floor(when), np.ceil(when))})
    rate = float(y.sum() / span.sum())
    scatter = None if usual is None else Scatter(variance=usual.variance * rate, degrees=usual.degrees)
    told = course(y / span, span, places, scatter)
    return Trend(
        change=float(np.expm1(slope)),
        low=float(np.expm1(slope - reach)),
        high=float(np.expm1(slope + reach)),
        p_value=told.p_value,
        weeks=n,
        kind=told.kind,
        step=_step(x, y, span, told, places) if told.steps else None,
    )


def poisson_regression(
    counts: np.ndarray, design: np.ndarray, exposure: np.ndarray
) -> tuple[np.ndarray, np.ndarray, float]:
    """Log-linear Poisson regression by iterated weighted least squares (McCullagh & Nelder 1989, ch. 2.5).

    Args:
        counts: not negative, and not all 0.
        design: counts by coefficients.
        exposure: above 0.

    Returns:
        the coefficients, their standard errors, and Pearson's chi-squared.
    """
    offset, mean = np.log(exposure), (counts + counts.mean()) / 2
    coefficients = np.zeros(design.shape[1])
    for _ in range(MOST_ROUNDS):
        weight = np.sqrt(mean)
        working = np.log(mean) - offset + (counts - mean) / mean
        before = coefficients
        coefficients = np.linalg.lstsq(weight[:, None] * design, weight * working, rcond=None)[0]
        mean = np.exp(design @ coefficients + offset)
        if np.allclose(coefficients, before, rtol=1e-10, atol=1e-12):
            break
    covariance = np.linalg.inv(design.T @ (mean[:, None] * design))
    return coefficients, np.sqrt(np.diag(covariance)), float(((counts - mean) ** 2 / mean).sum())


def _step(x: np.ndarray, y: np.ndarray, span: np.ndarray, told: Course, known: Sequence[int]) -> Step:
    """The last step of a course: rates after and before it, with what weeks vary beyond chance."""
    from scipy.special import stdtrit

    begin, end = ([0, *told.steps][-2], told.since)
    expected = np.asarray(told.fitted) * span
    freedom = max(1, len(y) - len(told.steps) - 1)
    scale = max(1.0, float(((y - expected) ** 2 / np.maximum(expected, 1e-9)).sum()) / freedom)
    # Half a serve more on either side, so that a level of nothing has a ratio, too.
    before, after = float(y[begin:end].sum()) + 0.5, float(y[end:].sum()) + 0.5
    ratio = np.log(after / span[end:].sum()) - np.log(before / span[begin:end].sum())
    reach = float(stdtrit(freedom, 0.975)) * (scale * (1 / before + 1 / after)) ** 0.5
    low, middle, high = np.exp([ratio - reach, ratio, ratio + reach]).tolist()
    return Step(week=int(x[end]), ratio=middle, low=low, high=high, known=end in known)


def _no_trend(weeks: int, why_not: str) -> Trend:
    return Trend(change=None, low=None, high=None, p_value=None, weeks=weeks, why_not=why_not)
