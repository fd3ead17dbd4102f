"""A season's money by week, and how far chance alone moves its sum."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta
from itertools import pairwise
from math import exp, sqrt
from typing import Final

import polars as pl

LEAST_WEEKS: Final = 4
"""Whole weeks needed for an interval."""


def mondays(first: date, last: date) -> tuple[date, ...]:
    """The Monday of every week that has a day within first..last."""
    start = first - timedelta(days=first.weekday())
    return tuple(start + timedelta(weeks=n) for n in range((last - start).days // 7 + 1))


def whole_weeks(first: date, last: date) -> tuple[date, ...]:
    """The Mondays of the weeks that lie within first..last with all seven days."""
    return tuple(day for day in mondays(first, last) if day >= first and day + timedelta(days=6) <= last)


def by_week(daily: pl.DataFrame, value: str, first: date, last: date) -> dict[date, float]:
    """The sum of a column by week (its Monday), zero in a week without a row.

    Args:
        daily: business_date and the column.
    """
    sums = (
        daily.filter(pl.col("business_date").is_between(first, last))
        .group_by(pl.col("business_date").dt.truncate("1w").alias("week"))
        .agg(pl.col(value).sum())
    )
    return dict.fromkeys(mondays(first, last), 0.0) | {week: float(total) for week, total in sums.rows()}


def scatter(weeks: Sequence[float]) -> float | None:
    """Standard deviation of a week about a course that moves slowly, from the steps between neighbours.

    s² = Σ (x[i+1] − x[i])² / (2 (n − 1)): von Neumann, Kent, Bellinson & Hart 1941, Ann. Math. Statist. 12:153. A trend
    over the season hardly touches it. None with fewer than `LEAST_WEEKS` weeks.

    >>> scatter([10.0, 12.0, 10.0, 12.0]) == 2.0**0.5
    True
    """
    if len(weeks) < LEAST_WEEKS:
        return None
    steps = [(after - before) ** 2 for before, after in pairwise(weeks)]
    return sqrt(sum(steps) / (2 * len(steps)))


def reach_of_sum(weeks: Sequence[float], total_weeks: float) -> float | None:
    """Half the width of the 95 % interval for a sum over so many weeks, from the scatter of its whole weeks.

    The sum of n independent weeks has a standard error of s √n; Student's t with two thirds of n − 1 degrees of
    freedom, which is what successive differences are worth (von Neumann et al. 1941). None with too few weeks.
    """
    s = scatter(weeks)
    if s is None:
        return None
    return quantile(max(1.0, 2 * (len(weeks) - 1) / 3)) * s * sqrt(total_weeks)


def quantile(degrees: float) -> float:
    """The 97.5 % point of Student's t."""
    from scipy.special import stdtrit

    return float(stdtrit(degrees, 0.975))


def ratio_of_weeks(now: Sequence[float], before: Sequence[float]) -> tuple[float, float | None, float | None] | None:
    """Mean week of one stretch over that of another, with its 95 % interval.

    The logarithm of the ratio is taken as normal, its variance by the delta method: s²/(n m²) of each stretch.

    Args:
        now, before: sums of whole weeks.

    Returns:
        ratio, low, high; low and high are None with too few weeks. None altogether where a mean is not above 0.
    """
    if not now or not before:
        return None
    means = [sum(weeks) / len(weeks) for weeks in (now, before)]
    if min(means) <= 0:
        return None
    ratio = means[0] / means[1]
    scatters = [scatter(weeks) for weeks in (now, before)]
    if scatters[0] is None or scatters[1] is None:
        return ratio, None, None
    parts = [(s / m) ** 2 / len(w) for s, m, w in zip(scatters, means, (now, before), strict=True) if s is not None]
    degrees = max(1.0, 2 * (min(len(now), len(before)) - 1) / 3)
    reach = quantile(degrees) * sqrt(sum(parts))
    factor = exp(reach)
    return ratio, ratio / factor, ratio * factor
