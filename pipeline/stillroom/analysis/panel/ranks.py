"""Rank-based checks beside the model: they ask only who ranked what higher, not by how many points."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from stillroom.analysis.panel.version_fit import CannotTell, Floats
from stillroom.analysis.tails import chi2_sf


@dataclass(frozen=True, kw_only=True)
class RankTest:
    """A test that all versions rank alike."""

    method: str
    statistic: float
    df: int
    p: float
    """By the chi-square approximation."""
    left_out: tuple[int, ...] = ()
    """Rows with fewer than two scores, which say nothing of any order."""


def rank_test(scores: Floats) -> RankTest:
    """Friedman where complete, Durbin where balanced incomplete, else Skillings-Mack.

    `scores` has shape (panelists, versions); nan where a panelist did not taste a version. Panelists with fewer than
    two scores say nothing and are left out.

    Raises:
        CannotTell: nobody tasted two versions, or nobody ranks one above another.
    """
    says = (~np.isnan(scores)).sum(axis=1) >= 2
    if not says.any():
        raise CannotTell("nobody tasted two versions")
    return replace(_test_of(scores[says]), left_out=tuple(np.flatnonzero(~says).tolist()))


def _test_of(scores: Floats) -> RankTest:
    there = ~np.isnan(scores)
    if there.all():
        return friedman(scores)
    each, together = there.sum(axis=1), there.T.astype(int) @ there
    off = together[~np.eye(len(together), dtype=bool)]
    if len(set(each.tolist())) == 1 and len(set(np.diag(together).tolist())) == 1 and len(set(off.tolist())) == 1:
        return durbin(scores)
    return skillings_mack(scores)


def friedman(scores: Floats) -> RankTest:
    """Friedman's test, corrected for ties (Friedman 1937, *JASA* 32:675; Hollander & Wolfe, 7.1).

    >>> friedman(np.array([[1.0, 2, 3], [1, 2, 3], [2, 1, 3]])).statistic.__round__(4)
    4.6667
    """
    panelists, versions = scores.shape
    ranks = _ranks(scores)
    spread = float(((ranks - (versions + 1) / 2) ** 2).sum())
    if spread == 0:
        raise CannotTell("nobody ranks one version above another")
    sums = ranks.sum(axis=0)
    statistic = (versions - 1) * float(((sums - panelists * (versions + 1) / 2) ** 2).sum()) / spread
    return RankTest(method="Friedman", statistic=statistic, df=versions - 1, p=float(chi2_sf(statistic, versions - 1)))


def durbin(scores: Floats) -> RankTest:
    """Durbin's test for balanced incomplete blocks, corrected for ties (Conover 1999, section 5.9)."""
    there = ~np.isnan(scores)
    versions, size, times = scores.shape[1], int(there[0].sum()), int(there[:, 0].sum())
    ranks = np.nan_to_num(_ranks(scores))
    squares = float((ranks**2).sum())
    centre = len(scores) * size * (size + 1) ** 2 / 4
    if squares <= centre:
        raise CannotTell("nobody ranks one version above another")
    deviation = float(((ranks.sum(axis=0) - times * (size + 1) / 2) ** 2).sum())
    statistic = (versions - 1) * deviation / (squares - centre)
    return RankTest(method="Durbin", statistic=statistic, df=versions - 1, p=float(chi2_sf(statistic, versions - 1)))


def skillings_mack(scores: Floats) -> RankTest:
    """Skillings & Mack's test for any incomplete blocks (1981, *Technometrics* 23:171); equals Friedman if complete.

    Ties get their mean rank, which makes the test a little cautious.
    """
    there = ~np.isnan(scores)
    size = there.sum(axis=1, keepdims=True)
    ranks = np.where(there, _ranks(scores), (size + 1) / 2)
    if (ranks == (size + 1) / 2).all():
        raise CannotTell("nobody ranks one version above another")
    sums = (np.sqrt(12 / (size + 1)) * (ranks - (size + 1) / 2)).sum(axis=0)
    together = there.T.astype(float) @ there
    covariance = np.diag(together.sum(axis=1)) - together
    statistic = float(sums @ np.linalg.pinv(covariance) @ sums)
    df = int(np.linalg.matrix_rank(covariance))
    return RankTest(method="Skillings-Mack", statistic=statistic, df=df, p=float(chi2_sf(statistic, df)))


def _ranks(scores: Floats) -> Floats:
    """Ranks within each panelist, ties their mean; nan stays.

    Means of repeats in tenths differ in their last digits where they are equal: 4, 4.1, 4.3 and 4, 4, 4.4.
    """
    own = np.round(scores, 9)[:, :, None]
    others = own.transpose(0, 2, 1)
    ranks = ((others < own).sum(axis=2) + (others <= own).sum(axis=2) + 1) / 2
    return np.where(np.isnan(scores), np.nan, ranks)
