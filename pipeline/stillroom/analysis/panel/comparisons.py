"""Differences between versions, corrected for several comparisons."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from itertools import combinations
from typing import Final

import numpy as np

from stillroom.analysis.panel.anytime import anytime_critical, anytime_p
from stillroom.analysis.panel.simultaneous import (
    many_to_one_critical,
    many_to_one_sf,
    product_loadings,
    studentized_range_critical,
    studentized_range_sf,
)
from stillroom.analysis.panel.version_fit import Floats, VersionFit
from stillroom.analysis.tails import t_sf

ALPHA: Final = 0.05


@dataclass(frozen=True, kw_only=True)
class Difference:
    """How one version differs from another, in points of the scale."""

    version: int
    """Index of the version looked at."""
    against: int
    """Index of the version it is measured from."""
    difference: float
    se: float
    df: float
    low: float
    """Lower end of the simultaneous 95 % interval."""
    high: float
    p: float
    """Two-sided, corrected for the comparisons within the attribute."""
    effect: float
    """The difference in residual standard deviations."""
    critical: float
    """The |t| that counts after the correction."""
    level: float = 0.05
    """Risk of a false alarm that p is held against."""


def all_pairs(fit: VersionFit) -> list[Difference]:
    """Every pair, later minus earlier, by Tukey's method (Tukey-Kramer where the standard errors differ)."""
    count = len(fit.means)
    pairs = list(combinations(range(count), 2))
    earlier, later = np.array(pairs).T
    difference, se, df = fit.means[later] - fit.means[earlier], fit.pair_se[later, earlier], fit.pair_df[later, earlier]
    t = difference / se
    p = studentized_range_sf(np.sqrt(2) * np.abs(t), count, df)
    critical = _over_df(lambda d: studentized_range_critical(count, d), df) / np.sqrt(2)
    return [
        _difference(fit, *pair, df[i], critical[i], p[i]) for i, pair in enumerate(zip(later, earlier, strict=True))
    ]


def against_one(fit: VersionFit, reference: int) -> list[Difference]:
    """Every other version against one, by Dunnett's method on the block model's variance and degrees of freedom."""
    others = [i for i in range(len(fit.means)) if i != reference]
    loadings = product_loadings(fit.difference_correlation(reference))
    df = fit.pair_df[others, reference]
    t = (fit.means[others] - fit.means[reference]) / fit.pair_se[others, reference]
    p = many_to_one_sf(t=np.abs(t), loadings=loadings, df=df)
    critical = _over_df(lambda d: many_to_one_critical(loadings, d), df)
    return [_difference(fit, other, reference, df[i], critical[i], p[i]) for i, other in enumerate(others)]


def newer_from_older(difference: Difference) -> Difference:
    """The same difference seen from the older version, so that a plus always speaks for the newer one."""
    if difference.version > difference.against:
        return difference
    return replace(
        difference,
        version=difference.against,
        against=difference.version,
        difference=-difference.difference,
        low=-difference.high,
        high=-difference.low,
        effect=-difference.effect,
    )


def at_planned_look(difference: Difference, level: float, critical: Callable[[float], float]) -> Difference:
    """Judged at the level of a planned look; `critical`: the |t| that counts at it, by degrees of freedom."""
    reach = critical(difference.df)
    return replace(_reaching(difference, reach), level=level)


def whenever(difference: Difference, residual_sd: float, comparisons: int) -> Difference:
    """Judged by what holds however often one has looked, shared out over the comparisons (Bonferroni)."""
    blocks = 2 * (residual_sd / difference.se) ** 2
    critical = anytime_critical(blocks, difference.df, ALPHA / comparisons)
    p = min(comparisons * anytime_p(difference.difference / difference.se, blocks, difference.df), 1.0)
    return replace(_reaching(difference, critical), p=p)


def _reaching(difference: Difference, critical: float) -> Difference:
    reach = critical * difference.se
    return replace(
        difference,
        critical=critical,
        low=difference.difference - reach,
        high=difference.difference + reach,
    )


def _over_df(critical: Callable[[float], float], df: Floats) -> Floats:
    """A critical value for each of many degrees of freedom, from a few: it is smooth in 1 / df."""
    low, high = float(df.min()), float(df.max())
    if high - low < 1e-9 * high:
        return np.full(len(df), critical(low))
    count = 2 if high < 1.1 * low else 5
    # Chebyshev points of the span in 1 / df, ends included, so that the polynomial through them stays close.
    share = (1 - np.cos(np.pi * np.arange(count) / (count - 1))) / 2
    points = 1 / high + share * (1 / low - 1 / high)
    # Lagrange's form of that polynomial.
    parts = [
        critical(1 / own) * np.prod([(1 / df - other) / (own - other) for other in points if other != own], axis=0)
        for own in points
    ]
    return np.asarray(np.sum(parts, axis=0))


def _difference(fit: VersionFit, version: int, against: int, df: float, critical: float, p: float) -> Difference:
    df, critical, p = float(df), float(critical), float(p)
    version, against = int(version), int(against)
    difference, se = float(fit.means[version] - fit.means[against]), float(fit.pair_se[version, against])
    return Difference(
        version=version,
        against=against,
        difference=difference,
        se=se,
        df=df,
        low=difference - critical * se,
        high=difference + critical * se,
        p=p,
        effect=difference / fit.residual_sd,
        critical=critical,
    )


def not_worse_p(difference: Difference, margin: float) -> float:
    """One-sided p of 'worse by the margin or more': small means at least as good, but for the margin."""
    return float(t_sf((difference.difference + margin) / difference.se, difference.df))


def equivalence_p(difference: Difference, margin: float) -> float:
    """p of two one-sided tests (Schuirmann 1987, *J. Pharmacokinet. Biopharm.* 15:657): small means alike."""
    above = float(t_sf((margin - difference.difference) / difference.se, difference.df))
    return max(not_worse_p(difference, margin), above)
