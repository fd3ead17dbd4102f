"""Incomplete panels: a mixed model with the panelist random, fitted by restricted maximum likelihood (REML).

statsmodels fits such a model but gives no degrees of freedom for a contrast, and a panel of a dozen people is far too
small to do without; so the likelihood is written here, panelist by panelist, as whole-array operations. The tests
compare estimates and variances with statsmodels, and complete data with the analysis of variance.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations
from typing import Final

import numpy as np
import numpy.typing as npt

from stillroom.analysis.lowest import lowest
from stillroom.analysis.panel.block_anova import refuse_without_scatter
from stillroom.analysis.panel.version_fit import CannotTell, FirstGlass, Floats, VersionFit
from stillroom.analysis.tails import f_sf

LARGEST: Final = 1e4
"""Bound of a variance, in variances of all scores: keeps the search from running off where the data say nothing."""
Labels = npt.NDArray[np.intp]


@dataclass(frozen=True, kw_only=True)
class _Blocks:
    """The scores, one block a panelist, filled up to the longest with rows of zeros.

    Repeats of a version in one session stand in one row, as their mean: that and their scatter about it are all that
    the likelihood needs of them, and a row fewer is a smaller matrix.
    """

    y: Floats
    """Shape (panelists, rows)."""
    x: Floats
    """Fixed effects: versions, sessions as deviations from their mean, and last whether a glass stood first, if given;
    shape (panelists, rows, columns)."""
    shapes: Floats
    """Covariance pattern of each variance: residual first; shape (variances, panelists, rows, rows)."""
    padding: Floats
    """1 on the diagonal of rows that only fill up; shape (panelists, rows, rows)."""
    count: int
    """Number of scores."""
    repeats: int
    """Scores beyond the first of each row."""
    repeats_squares: float
    """Sum of squares of the scores about their row's mean."""


@dataclass(frozen=True, kw_only=True)
class _State:
    """The restricted likelihood at given variances."""

    deviance: float
    gradient: Floats
    beta: Floats
    covariance: Floats
    count: int
    """Number of scores."""
    slopes: Floats
    """Derivative of the covariance of beta by each variance; shape (variances, columns, columns)."""


def fit_mixed(y: Floats, version: Labels, panelist: Labels, session: Labels, first: Floats | None = None) -> VersionFit:
    """Mixed model: version and session fixed; panelist random, and panelist x session, panelist x version if repeated.

    All have one entry a score, labels counting from 0 without gaps; `first`: 1 where the glass stood first in its
    order, else 0: a fixed effect more where it is given. Means are averaged over the sessions.
    Degrees of freedom: Satterthwaite's approximation as in Giesbrecht & Burns (1985), *Biometrics* 41:477, from the
    observed information; for the F test as in Fai & Cornelius (1996), *J. Stat. Comput. Simul.* 54:363.

    Raises:
        CannotTell: fewer than two panelists, too few scores, all the same, or no scatter.
    """
    if panelist.max() < 1:
        raise CannotTell("only one panelist: a difference cannot be told from one person's own scatter")
    total = float(y.var())
    refuse_without_scatter(total, total)
    versions = int(version.max()) + 1
    blocks = _blocks((y - y.mean()) / np.sqrt(total), version, panelist, session, first)
    if blocks.count <= blocks.x.shape[2] + 1:
        raise CannotTell("too few scores for the number of versions and sessions")
    phi = _variances(blocks)
    state = _restricted_likelihood(blocks, phi)
    # The residual variance is held above 1e-10 of the scores'; next to that bound there is none.
    refuse_without_scatter(float(phi[0]) if phi[0] > 1e-8 else 0.0, 1.0)
    information = _variance_covariance(blocks, phi)
    covariance = state.covariance[:versions, :versions] * total
    f, f_df = _f_test(state, information, versions)
    return VersionFit(
        method="mixed model, panelist random (REML, Satterthwaite)",
        means=state.beta[:versions] * np.sqrt(total) + y.mean(),
        covariance=covariance,
        mean_se=np.sqrt(np.diag(covariance)),
        mean_df=np.array([_satterthwaite(state, information, unit) for unit in np.eye(len(state.beta))[:versions]]),
        pair_df=_pair_df(state, information, versions),
        residual_sd=float(np.sqrt(phi[0] * total)),
        f=f,
        f_df_between=float(versions - 1),
        f_df_within=f_df,
        p=float(f_sf(f, versions - 1, f_df)),
        panelists=int(panelist.max()) + 1,
        first_glass=None if first is None else _first_glass(state, information, float(np.sqrt(total))),
    )


def _first_glass(state: _State, information: Floats, unit: float) -> FirstGlass:
    last = np.eye(len(state.beta))[-1]
    return FirstGlass(
        effect=float(state.beta[-1]) * unit,
        se=float(np.sqrt(state.covariance[-1, -1])) * unit,
        df=_satterthwaite(state, information, last),
    )


def _blocks(scores: Floats, version: Labels, panelist: Labels, session: Labels, first: Floats | None = None) -> _Blocks:
    people, versions, sessions = (int(labels.max()) + 1 for labels in (panelist, version, session))
    cells, cell, each = np.unique(
        np.column_stack([panelist, version, session]), axis=0, return_inverse=True, return_counts=True
    )
    panelist, version, session = cells.T
    y = np.bincount(cell, scores) / each
    stood_first = np.empty((len(y), 0)) if first is None else (np.bincount(cell, first - first.mean()) / each)[:, None]
    squares = float(((scores - y[cell]) ** 2).sum())
    if squares <= 1e-12 * len(scores):  # repeats that never differ are one score copied out, not several
        each, squares = np.ones_like(each), 0.0
    order = np.argsort(panelist, kind="stable")
    size = np.bincount(panelist, minlength=people)
    first = np.concatenate(([0], np.cumsum(size)[:-1]))
    row = np.empty(len(y), dtype=np.intp)
    row[order] = np.arange(len(y)) - np.repeat(first, size)
    rows = int(size.max())

    def spread(values: Floats, fill: float) -> Floats:
        spread_out = np.full((people, rows, *values.shape[1:]), fill)
        spread_out[panelist, row] = values
        return spread_out

    # Deviations from the mean of the sessions, so that the versions' coefficients are means over the sessions.
    session_codes = np.vstack([np.eye(sessions)[:, :-1][:-1], -np.ones(sessions - 1)])
    x = np.hstack([np.eye(versions)[version], session_codes[session], stood_first])
    there = spread(np.ones(len(y)), 0.0)
    both = there[:, :, None] * there[:, None, :]
    in_session, in_version = spread(session.astype(float), -1.0), spread(version.astype(float), -1.0)
    same_session = both * (in_session[:, :, None] == in_session[:, None, :])
    same_version = both * (in_version[:, :, None] == in_version[:, None, :])
    shapes = [np.eye(rows) * spread(1 / each, 0.0)[:, :, None], both]
    if sessions > 1 and (same_session != both).any():
        shapes.append(same_session)
    if each.max() > 1 or (same_version.sum(axis=2) > 1).any():
        shapes.append(same_version)
    return _Blocks(
        y=spread(y, 0.0),
        x=spread(x, 0.0),
        shapes=np.stack(shapes),
        padding=np.eye(rows) * (1 - there)[:, :, None],
        count=int(each.sum()),
        repeats=int(each.sum()) - len(y),
        repeats_squares=squares,
    )


def _restricted_likelihood(blocks: _Blocks, phi: Floats) -> _State:
    """-2 log restricted likelihood and its derivatives (Searle, Casella & McCulloch, *Variance Components*, 6.6)."""
    v = np.tensordot(phi, blocks.shapes, axes=1) + blocks.padding
    inverse = np.linalg.inv(v)
    inverse_x = inverse @ blocks.x
    normal = np.einsum("bri,brj->ij", blocks.x, inverse_x)
    covariance = np.linalg.inv(normal)
    beta = covariance @ np.einsum("bri,br->i", inverse_x, blocks.y)
    residual = blocks.y - blocks.x @ beta
    inverse_residual = np.einsum("brs,bs->br", inverse, residual)
    deviance = np.linalg.slogdet(v)[1].sum() + np.linalg.slogdet(normal)[1] + float((residual * inverse_residual).sum())
    deviance += blocks.repeats * np.log(phi[0]) + blocks.repeats_squares / phi[0]
    shaped_x = blocks.shapes @ inverse_x
    sandwich = np.einsum("bri,kbrj->kij", inverse_x, shaped_x)
    gradient = (
        np.einsum("brs,kbrs->k", inverse, blocks.shapes)
        - np.einsum("ij,kij->k", covariance, sandwich)
        - np.einsum("br,kbrs,bs->k", inverse_residual, blocks.shapes, inverse_residual, optimize=True)
    )
    gradient[0] += blocks.repeats / phi[0] - blocks.repeats_squares / phi[0] ** 2
    return _State(
        deviance=float(deviance),
        gradient=np.asarray(gradient),
        beta=beta,
        covariance=covariance,
        count=blocks.count,
        slopes=covariance @ sandwich @ covariance,
    )


def _variances(blocks: _Blocks) -> Floats:
    """REML estimates of the variances, residual first, for scores of variance 1; none below 0."""

    def target(phi: Floats) -> tuple[float, Floats]:
        state = _restricted_likelihood(blocks, phi)
        return state.deviance, state.gradient

    count = len(blocks.shapes)
    low = np.append(1e-10, np.zeros(count - 1))
    found, _ = lowest(target, np.full(count, 1.0 / count), low, np.full(count, LARGEST))
    return np.where(found < 1e-8, low, found)


def _variance_covariance(blocks: _Blocks, phi: Floats) -> Floats:
    """Covariance of the variance estimates: twice the inverse of the deviance's curvature.

    A variance estimated as 0 lies at its boundary and counts as known.
    """
    free = np.flatnonzero(phi > 0)
    curvature = np.empty((len(free), len(free)))
    for row, k in enumerate(free):
        step = np.zeros_like(phi)
        step[k] = phi[k] * 1e-4
        up, down = _restricted_likelihood(blocks, phi + step), _restricted_likelihood(blocks, phi - step)
        curvature[row] = ((up.gradient - down.gradient) / (2 * step[k]))[free]
    covariance = np.zeros((len(phi), len(phi)))
    covariance[np.ix_(free, free)] = 2 * np.linalg.pinv((curvature + curvature.T) / 2)
    return covariance


def _satterthwaite(state: _State, information: Floats, contrast: Floats) -> float:
    variance = contrast @ state.covariance @ contrast
    slope = np.einsum("i,kij,j->k", contrast, state.slopes, contrast)
    df = float(2 * variance**2 / max(slope @ information @ slope, 1e-300))
    # Next to no data can give a fraction of one, or a number without bound; neither means anything.
    return min(max(df, 1.0), float(state.count))


def _pair_df(state: _State, information: Floats, versions: int) -> Floats:
    df = np.full((versions, versions), np.inf)
    for a, b in combinations(range(versions), 2):
        contrast = np.zeros(len(state.beta))
        contrast[a], contrast[b] = 1, -1
        df[a, b] = df[b, a] = _satterthwaite(state, information, contrast)
    return df


def _f_test(state: _State, information: Floats, versions: int) -> tuple[float, float]:
    """F of no difference between versions, and its denominator degrees of freedom."""
    contrasts = np.zeros((versions - 1, len(state.beta)))
    contrasts[:, 0] = -1
    contrasts[range(versions - 1), range(1, versions)] = 1
    estimate = contrasts @ state.beta
    spread = contrasts @ state.covariance @ contrasts.T
    f = float(estimate @ np.linalg.solve(spread, estimate)) / (versions - 1)
    vectors = np.linalg.eigh(spread)[1]
    df = np.array([_satterthwaite(state, information, vector @ contrasts) for vector in vectors.T])
    if len(df) == 1:
        return f, float(df[0])
    expected = float((df[df > 2] / (df[df > 2] - 2)).sum())
    return f, 2 * expected / (expected - len(df)) if expected > len(df) else float(df.min())
