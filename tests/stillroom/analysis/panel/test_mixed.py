"""The mixed model against the analysis of variance (complete data), statsmodels, and the textbook formulas."""

from __future__ import annotations

import numpy as np
import pytest
import statsmodels.api as sm
from scipy import optimize, stats

from stillroom.analysis.panel.block_anova import fit_complete_blocks
from stillroom.analysis.panel.mixed import _Blocks, _blocks, _restricted_likelihood, _variances, fit_mixed
from stillroom.analysis.panel.version_fit import CannotTell

Floats = np.ndarray[tuple[int, ...], np.dtype[np.float64]]


def _drawn(panelists: int, versions: int, seed: int) -> Floats:
    rng = np.random.default_rng(seed)
    return rng.normal(5, 1.5, (panelists, 1)) + rng.normal(0, 0.6, versions) + rng.normal(0, 1, (panelists, versions))


def _long(table: Floats) -> tuple[Floats, ...]:
    panelist, version = np.nonzero(~np.isnan(table))
    return table[panelist, version], version, panelist


def test_complete_data_give_the_analysis_of_variance() -> None:
    table = _drawn(12, 4, seed=1)
    y, version, panelist = _long(table)
    mixed, blocks = fit_mixed(y, version, panelist, np.zeros_like(version)), fit_complete_blocks(table)
    assert mixed.means == pytest.approx(blocks.means)
    assert (mixed.f, mixed.p, mixed.f_df_within) == pytest.approx((blocks.f, blocks.p, blocks.f_df_within), rel=1e-6)
    assert mixed.pair_se[0, 1] == pytest.approx(blocks.pair_se[0, 1], rel=1e-6)
    assert mixed.pair_df[0, 1] == pytest.approx(33, rel=1e-6)
    assert mixed.mean_se == pytest.approx(blocks.mean_se, rel=1e-6)
    assert mixed.mean_df == pytest.approx(blocks.mean_df, rel=1e-4)


@pytest.mark.parametrize("seed", [2, 3])
def test_incomplete_data_give_statsmodels_estimates(seed: int) -> None:
    table = _drawn(15, 5, seed)
    table[np.random.default_rng(seed).random(table.shape) < 0.3] = np.nan
    y, version, panelist = _long(table)
    ours = fit_mixed(y, version, panelist, np.zeros_like(version))
    x = np.eye(5)[version]
    theirs = sm.MixedLM(y, x, groups=panelist).fit(reml=True, method="bfgs", gtol=1e-8)
    assert ours.means == pytest.approx(theirs.fe_params, rel=1e-5)
    assert ours.residual_sd == pytest.approx(np.sqrt(theirs.scale), rel=1e-4)
    # Generalised least squares at statsmodels' variances: (X' V^-1 X)^-1.
    v = theirs.scale * np.eye(len(y)) + theirs.cov_re[0, 0] * (panelist[:, None] == panelist)
    assert ours.covariance == pytest.approx(np.linalg.inv(x.T @ np.linalg.inv(v) @ x), rel=1e-3)


def test_repeats_add_a_variance_of_panelist_by_version() -> None:
    rng = np.random.default_rng(4)
    panelist, version, _ = (axis.ravel() for axis in np.indices((14, 3, 2)))
    y = rng.normal(0, 1, 14)[panelist] + rng.normal(0, 0.8, (14, 3))[panelist, version] + rng.normal(0, 0.7, 84)
    kept = rng.random(84) > 0.15
    y, panelist, version = y[kept], panelist[kept], version[kept]
    ours = fit_mixed(y, version, panelist, np.zeros_like(version))
    x, same_person = np.eye(3)[version], panelist[:, None] == panelist
    v = _rebuilt(ours.residual_sd**2, y, x, same_person, version)
    assert np.linalg.inv(x.T @ np.linalg.inv(v) @ x) == pytest.approx(ours.covariance, rel=5e-3)


def _rebuilt(residual: float, y: Floats, x: Floats, same_person: Floats, version: Floats) -> Floats:
    """Covariance of the scores at the REML optimum, found by SciPy on the textbook likelihood, dense and slow."""
    from scipy import optimize

    same_cell = same_person & (version[:, None] == version)

    def covariance(log_variances: Floats) -> Floats:
        person, cell, rest = np.exp(log_variances)
        return person * same_person + cell * same_cell + rest * np.eye(len(y))

    def deviance(log_variances: Floats) -> float:
        v = covariance(log_variances)
        inverse = np.linalg.inv(v)
        normal = x.T @ inverse @ x
        r = y - x @ np.linalg.solve(normal, x.T @ inverse @ y)
        return float(np.linalg.slogdet(v)[1] + np.linalg.slogdet(normal)[1] + r @ inverse @ r)

    start = np.log([1.0, 0.5, residual])
    found = optimize.minimize(
        deviance, start, method="Nelder-Mead", options={"xatol": 1e-7, "fatol": 1e-10, "maxiter": 4000}
    )
    assert np.exp(found.x[2]) == pytest.approx(residual, rel=1e-3)
    return covariance(found.x)


def _dense_deviance(variances: Floats, y: Floats, x: Floats, same_person: Floats) -> tuple[float, Floats]:
    """Restricted deviance and covariance of the means, by the textbook formulas on whole matrices."""
    v = variances[0] * np.eye(len(y)) + variances[1] * same_person
    inverse = np.linalg.inv(v)
    normal = x.T @ inverse @ x
    r = y - x @ np.linalg.solve(normal, x.T @ inverse @ y)
    return float(np.linalg.slogdet(v)[1] + np.linalg.slogdet(normal)[1] + r @ inverse @ r), np.linalg.inv(normal)


def test_degrees_of_freedom_are_satterthwaites_from_the_observed_information() -> None:
    # 2 v^2 / (g' A g): v the variance of the difference, g its gradient, A twice the inverse Hessian of the deviance
    # (Giesbrecht & Burns 1985; what R's lmerTest computes), here all by finite differences on dense matrices.
    table = _drawn(8, 4, seed=7)
    table[[0, 1, 3, 5, 6], [2, 0, 1, 2, 3]] = np.nan
    y, version, panelist = _long(table)
    fit = fit_mixed(y, version, panelist, np.zeros_like(version))
    x, same_person = np.eye(4)[version], (panelist[:, None] == panelist).astype(float)
    theirs = sm.MixedLM(y, x, groups=panelist).fit(reml=True, method="bfgs", gtol=1e-8)
    at = np.array([theirs.scale, theirs.cov_re[0, 0]])
    contrast = np.array([1.0, 0, -1, 0])

    def variance(variances: Floats) -> float:
        return float(contrast @ _dense_deviance(variances, y, x, same_person)[1] @ contrast)

    h = 1e-3 * at
    steps = np.diag(h)
    hessian, slope = np.empty((2, 2)), np.empty(2)
    for i in range(2):
        slope[i] = (variance(at + steps[i]) - variance(at - steps[i])) / (2 * h[i])
        for j in range(2):
            corners = [
                a * b * _dense_deviance(at + a * steps[i] + b * steps[j], y, x, same_person)[0]
                for a in (1, -1)
                for b in (1, -1)
            ]
            hessian[i, j] = sum(corners) / (4 * h[i] * h[j])
    expected = 2 * variance(at) ** 2 / (slope @ (2 * np.linalg.inv(hessian)) @ slope)
    assert fit.pair_df[0, 2] == pytest.approx(expected, rel=1e-3)
    assert fit.pair_se[0, 2] == pytest.approx(np.sqrt(variance(at)), rel=1e-4)


def test_f_of_two_versions_is_the_squared_t_of_their_difference() -> None:
    table = _drawn(9, 2, seed=5)
    table[0, 0] = table[4, 1] = np.nan
    y, version, panelist = _long(table)
    fit = fit_mixed(y, version, panelist, np.zeros_like(version))
    t = (fit.means[1] - fit.means[0]) / fit.pair_se[0, 1]
    assert fit.f == pytest.approx(t**2)
    assert fit.p == pytest.approx(2 * stats.t.sf(abs(t), fit.pair_df[0, 1]))


def test_no_scatter_between_panelists_leaves_the_residual_degrees_of_freedom() -> None:
    # Levels alike: the variance between panelists is 0, as in ordinary least squares with n - p degrees of freedom.
    rng = np.random.default_rng(6)
    table = rng.normal(0, 1, (10, 3))
    table -= table.mean(axis=1, keepdims=True) * 0.999
    table[2, 1] = np.nan
    y, version, panelist = _long(table)
    fit = fit_mixed(y, version, panelist, np.zeros_like(version))
    assert fit.pair_df[0, 2] == pytest.approx(29 - 3, rel=1e-3)


def test_differences_without_scatter_are_no_basis_for_a_verdict() -> None:
    table = np.array([[1.0, 2.0, 3.0], [4.0, 5.0, np.nan], [2.0, 3.0, 4.0], [np.nan, 7.0, 8.0]])
    y, version, panelist = _long(table)
    with pytest.raises(CannotTell, match="exactly the same difference"):
        fit_mixed(y, version, panelist, np.zeros_like(version))


def test_degrees_of_freedom_stay_between_one_and_the_number_of_scores() -> None:
    rng = np.random.default_rng(8)
    for _ in range(20):
        table = rng.integers(1, 4, (4, 4)).astype(float)
        table[rng.random(table.shape) < 0.4] = np.nan
        table = table[~np.isnan(table).all(axis=1)]
        y, version, panelist = _long(table)
        if len(set(version.tolist())) < 4:
            continue
        try:
            fit = fit_mixed(y, version, panelist, np.zeros_like(version))
        except CannotTell:
            continue
        df = fit.pair_df[~np.eye(4, dtype=bool)]
        assert ((df >= 1) & (df <= len(y))).all()


def test_repeats_held_as_means_have_the_likelihood_of_single_scores() -> None:
    """Unequal repeats in two sessions: the variances are where the dense textbook likelihood is flat."""
    rng = np.random.default_rng(11)
    panelist, version, session, _ = (axis.ravel() for axis in np.indices((12, 3, 2, 3)))
    kept = rng.random(len(panelist)) > 0.4
    panelist, version, session = panelist[kept], version[kept], session[kept]
    y = rng.normal(0, 1, 12)[panelist] + rng.normal(0, 0.9, (12, 3))[panelist, version] + 0.5 * session
    y += rng.normal(0, 0.8, (12, 2))[panelist, session] + rng.normal(0, 0.6, len(y))
    y = (y - y.mean()) / y.std()
    blocks = _blocks(y, version, panelist, session)
    x = np.column_stack([np.eye(3)[version], 1.0 - 2.0 * session])
    person = panelist[:, None] == panelist
    shapes = [np.eye(len(y)), person, person & (session[:, None] == session), person & (version[:, None] == version)]

    def dense(phi: Floats) -> float:
        v = np.tensordot(phi, shapes, axes=1)
        inverse = np.linalg.inv(v)
        normal = x.T @ inverse @ x
        r = y - x @ np.linalg.solve(normal, x.T @ inverse @ y)
        return float(np.linalg.slogdet(v)[1] + np.linalg.slogdet(normal)[1] + r @ inverse @ r)

    one, other = np.array([0.3, 0.4, 0.2, 0.5]), np.array([0.5, 0.1, 0.3, 0.2])
    ours = [_restricted_likelihood(blocks, phi) for phi in (one, other)]
    assert ours[0].deviance - ours[1].deviance == pytest.approx(dense(one) - dense(other), rel=1e-9)
    for k, step in enumerate(np.eye(4) * 1e-5):
        assert ours[0].gradient[k] == pytest.approx((dense(one + step) - dense(one - step)) / 2e-5, rel=1e-5)


def test_repeats_that_never_differ_count_as_one_score() -> None:
    table = _drawn(10, 3, seed=12)
    y, version, panelist = _long(table)
    twice = np.r_[np.arange(30), np.arange(25)]  # five panelists' last scores stand once
    copied = fit_mixed(y[twice], version[twice], panelist[twice], np.zeros_like(version[twice]))
    blocks = fit_complete_blocks(table)
    assert (copied.f, copied.p, copied.f_df_within) == pytest.approx((blocks.f, blocks.p, 18.0), rel=1e-6)


def test_the_variances_are_as_likely_as_scipys_search_makes_them() -> None:
    rng = np.random.default_rng(20261129)
    for _ in range(15):
        rows = np.array([(v, p, s) for v in range(3) for p in range(6) for s in range(2) if rng.random() < 0.7])
        version, panelist, session = (np.unique(column, return_inverse=True)[1] for column in rows.T)
        own = rng.normal(0, rng.choice([0, 1, 3]), 6)[panelist]
        y = own + rng.normal(0, rng.choice([0, 1]), (6, 2))[panelist, session] + rng.normal(size=len(rows))
        blocks = _blocks((y - y.mean()) / y.std(), version, panelist, session)

        def target(phi: Floats, blocks: _Blocks = blocks) -> tuple[float, Floats]:
            state = _restricted_likelihood(blocks, phi)
            return state.deviance, state.gradient

        count = len(blocks.shapes)
        theirs = optimize.minimize(
            target, np.full(count, 1 / count), jac=True, bounds=[(1e-10, 1e4)] + [(0, 1e4)] * (count - 1), tol=1e-12
        )
        found = _variances(blocks)
        assert target(found)[0] <= theirs.fun + 1e-9
        np.testing.assert_allclose(found, theirs.x, atol=1e-4)
