"""How far a panel agrees: intraclass correlation and Kendall's coefficient of concordance."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy import stats

from stillroom.analysis.ranks import friedman
from stillroom.analysis.version_fit import CannotTell, Floats


@dataclass(frozen=True, kw_only=True)
class IntraclassCorrelation:
    """One of Shrout & Fleiss' six forms, with its 95 % interval."""

    form: str
    value: float
    low: float
    high: float


def intraclass_correlations(ratings: Floats, alpha: float = 0.05) -> dict[str, IntraclassCorrelation]:
    """ICC(1,1), (2,1), (3,1) for one panelist, (1,k), (2,k), (3,k) for the mean of all k.

    `ratings` has shape (samples, panelists), without gaps. Source: Shrout & Fleiss (1979), *Psychol. Bull.* 86:420;
    intervals: McGraw & Wong (1996), *Psychol. Methods* 1:30.

    Raises:
        CannotTell: fewer than two samples or panelists, or all ratings the same.
    """
    samples, judges = ratings.shape
    if samples < 2 or judges < 2:
        raise CannotTell("agreement needs at least two panelists who tasted the same two versions")
    grand, rows, columns = ratings.mean(), ratings.mean(axis=1), ratings.mean(axis=0)
    between = judges * float(((rows - grand) ** 2).sum()) / (samples - 1)
    within = float(((ratings - rows[:, None]) ** 2).sum()) / (samples * (judges - 1))
    judge = samples * float(((columns - grand) ** 2).sum()) / (judges - 1)
    df_error = (samples - 1) * (judges - 1)
    error = float(((ratings - rows[:, None] - columns + grand) ** 2).sum()) / df_error
    total = between + within
    if between <= 1e-12 * total or error <= 1e-12 * total or within <= 1e-12 * total:
        raise CannotTell("the scores leave no scatter to measure agreement by")

    one_way = _from_f(between / within, samples - 1, samples * (judges - 1), alpha)
    consistent = _from_f(between / error, samples - 1, df_error, alpha)
    two_way = _two_way(between, judge, error, samples, judges, alpha)
    found = {}
    for number, f_limits in ((1, one_way), (3, consistent)):
        single = [(f - 1) / (f + judges - 1) for f in f_limits]
        mean = [1 - 1 / f for f in f_limits]
        found[f"ICC({number},1)"], found[f"ICC({number},k)"] = single, mean
    found["ICC(2,1)"] = list(two_way)
    if min(1 + (judges - 1) * value for value in two_way) <= 1e-9:
        raise CannotTell("the panelists disagree so fully that the agreement of their mean has no meaning")
    found["ICC(2,k)"] = [judges * value / (1 + (judges - 1) * value) for value in two_way]
    if not np.isfinite(list(found.values())).all():
        raise CannotTell("the scores leave no scatter to measure agreement by")
    return {
        form: IntraclassCorrelation(form=form, value=float(v), low=float(low), high=float(high))
        for form, (v, low, high) in sorted(found.items())
    }


def _from_f(f: float, df_between: int, df_within: int, alpha: float) -> tuple[float, float, float]:
    """An F ratio and its limits."""
    return (
        f,
        f / float(stats.f.isf(alpha / 2, df_between, df_within)),
        f * float(stats.f.isf(alpha / 2, df_within, df_between)),
    )


def _two_way(between: float, judge: float, error: float, n: int, k: int, alpha: float) -> tuple[float, float, float]:
    """ICC(2,1): agreement of single panelists drawn at random; limits with Satterthwaite's df."""
    icc = (between - error) / (between + (k - 1) * error + k * (judge - error) / n)
    ratio = judge / error
    share = n * (1 + (k - 1) * icc) - k * icc
    df = (n - 1) * (k - 1) * (k * icc * ratio + share) ** 2 / ((n - 1) * (k * icc * ratio) ** 2 + share**2)
    upper, lower = float(stats.f.isf(alpha / 2, n - 1, df)), float(stats.f.isf(alpha / 2, df, n - 1))
    spread = k * judge + (k * n - k - n) * error
    low = n * (between - upper * error) / (upper * spread + n * between)
    high = n * (lower * between - error) / (spread + n * lower * between)
    return icc, low, high


def kendall_w(scores: Floats) -> float:
    """Kendall's W from 0 (no agreement) to 1, corrected for ties; `scores` has shape (panelists, samples).

    >>> import numpy as np
    >>> round(kendall_w(np.array([[1.0, 6, 3, 2, 5, 4], [1, 5, 6, 4, 2, 3], [6, 3, 2, 5, 4, 1]])), 4)  # Siegel 1956
    0.1619
    """
    panelists, samples = scores.shape
    return friedman(scores).statistic / float(panelists * (samples - 1))
