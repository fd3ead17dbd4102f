"""Variance between samples and between panelists who did not all taste everything, by restricted maximum likelihood.

The scores' covariance is as large as the number of scores squared. Panelists share nothing with one another but the
samples, so their effects are eliminated one by one; what is left to invert has the size of the number of samples
(Woodbury's identity). Hundreds of panelists take milliseconds.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from stillroom.analysis.lowest import lowest
from stillroom.analysis.panel.version_fit import CannotTell, Floats

LARGEST_SHARE: Final = 1 - 1e-6
"""Bound of variance / (variance + error variance): scores that run up against it leave no error to measure by."""
STARTS: Final = (0.5, 0.95, 0.05)
"""Where the search begins: the likelihood of a handful of scores with gaps can have more than one summit."""


@dataclass(frozen=True, kw_only=True)
class CrossedVariances:
    """Variances, in points squared, of score = mean + sample + panelist + error."""

    sample: float
    panelist: float
    error: float


@dataclass(frozen=True, kw_only=True)
class _Sums:
    """All that the likelihood needs of the scores; C is the matrix of sample indicators, ones and scores."""

    by_panelist: Floats
    """Sums of C over each panelist's scores, shape (panelists, samples + 2)."""
    products: Floats
    """C'C, shape (samples + 2, samples + 2)."""
    each: Floats
    """Number of scores of each panelist."""
    count: int
    """Number of scores."""


@dataclass(frozen=True, kw_only=True)
class _Profile:
    """The restricted likelihood at given variance ratios, best mean and error variance put in."""

    deviance: float
    slope: Floats
    """Derivative of the deviance by the ratios of sample and of panelist."""
    error: float


def crossed_variances(ratings: Floats) -> CrossedVariances:
    """REML estimates with samples and panelists both random and crossed, none below 0.

    `ratings` has shape (samples, panelists); nan where a panelist did not taste a sample. Complete data give the
    analysis of variance's estimates wherever those are not negative. Source: Searle, Casella & McCulloch (1992),
    *Variance Components*, chapter 6.

    Raises:
        CannotTell: too few scores to tell the error from samples and panelists, or no scatter.
    """
    there = ~np.isnan(ratings)
    scores = ratings[there]
    if error_df(ratings) < 1:
        raise CannotTell("agreement needs at least two panelists who tasted the same two versions")
    total = float(scores.var())
    if total <= 1e-12 * float((scores**2).mean()):
        raise CannotTell("the scores leave no scatter to measure agreement by")
    sums = _sums(np.where(there, (ratings - scores.mean()) / np.sqrt(total), 0.0), there.astype(np.float64))
    ratios = _best_ratios(sums)
    error = total * _profile(sums, ratios).error
    return CrossedVariances(sample=float(ratios[0]) * error, panelist=float(ratios[1]) * error, error=error)


def error_df(ratings: Floats) -> int:
    """Degrees of freedom left for the error when the levels of samples and panelists are taken out."""
    return int((~np.isnan(ratings)).sum()) - sum(ratings.shape) + 1


def _sums(scores: Floats, there: Floats) -> _Sums:
    """`scores` (0 where missing) and `there` (1 or 0) have shape (samples, panelists)."""
    by_panelist = np.vstack([there, there.sum(axis=0), scores.sum(axis=0)]).T
    of_sample = np.column_stack([there.sum(axis=1), scores.sum(axis=1)])
    of_all = np.array([[there.sum(), scores.sum()], [scores.sum(), (scores**2).sum()]])
    return _Sums(
        by_panelist=by_panelist,
        products=np.block([[np.diag(there.sum(axis=1)), of_sample], [of_sample.T, of_all]]),
        each=there.sum(axis=0),
        count=int(there.sum()),
    )


def _best_ratios(sums: _Sums) -> Floats:
    """Ratios of the variances of sample and panelist to the error's, sought as shares to keep them within 0 and 1."""

    def target(shares: Floats) -> tuple[float, Floats]:
        at = _profile(sums, shares / (1 - shares))
        return at.deviance, at.slope / (1 - shares) ** 2

    fits = [lowest(target, np.full(2, start), np.zeros(2), np.full(2, LARGEST_SHARE)) for start in STARTS]
    shares, _ = min(fits, key=lambda fit: fit[1])
    if shares.max() > 1 - 2 * (1 - LARGEST_SHARE):
        raise CannotTell("the scores leave no scatter to measure agreement by")
    return shares / (1 - shares)


def _profile(sums: _Sums, ratios: Floats) -> _Profile:
    """-2 log restricted likelihood, less a constant; V is the scores' covariance over the error variance.

    First V holds the panelists alone, one block each, then the samples are put in.
    """
    of_sample, of_panelist = ratios
    samples = len(sums.products) - 2
    shrink = 1 + of_panelist * sums.each
    own = sums.by_panelist / shrink[:, None]
    partly = sums.products - of_panelist * sums.by_panelist.T @ own
    inner = np.eye(samples) + of_sample * partly[:samples, :samples]
    solved = np.linalg.solve(inner, np.hstack([partly[:samples], own[:, :samples].T]))
    to_all, to_panelists = solved[:, : samples + 2], solved[:, samples + 2 :]
    whole = partly - of_sample * partly[:, :samples] @ to_all  # C' V^-1 C
    panelists = own - of_sample * own[:, :samples] @ to_all  # (panelist indicators)' V^-1 C
    panelist_own = sums.each / shrink - of_sample * np.einsum("ps,sp->p", own[:, :samples], to_panelists)

    ones, mean = whole[-2, -2], whole[-2, -1] / whole[-2, -2]
    squares = float(whole[-1, -1] - mean * whole[-2, -1])
    df = sums.count - 1
    slope = [
        (diagonal - rows[:, -2] ** 2 / ones).sum() - df / squares * ((rows[:, -1] - mean * rows[:, -2]) ** 2).sum()
        for rows, diagonal in ((whole[:samples], np.diag(whole)[:samples]), (panelists, panelist_own))
    ]
    log_determinant = np.log(shrink).sum() + np.linalg.slogdet(inner)[1]
    return _Profile(
        deviance=float(log_determinant + np.log(ones) + df * np.log(squares)),
        slope=np.array(slope),
        error=squares / df,
    )
