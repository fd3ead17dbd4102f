"""Our tails and even points are those of SciPy's own, which takes longer to import than they take to work out."""

from __future__ import annotations

import numpy as np
from scipy import stats
from scipy.stats import qmc

from stillroom.analysis import tails
from stillroom.analysis.batches.measured import fisher_exact
from stillroom.analysis.next_menu.assumption import cut_normal
from stillroom.analysis.panel.ranks import _ranks
from stillroom.analysis.sobol import MOST, sobol
from stillroom.analysis.trials.discrimination import AT_MOST, _suffices, right_answers_needed


def test_tails_are_those_of_scipy() -> None:
    rng = np.random.default_rng(20261129)
    df, within = rng.uniform(1, 300, (2, 2000))
    t, f, p = rng.normal(0, 3, 2000), rng.gamma(1, 2, 2000), rng.uniform(1e-6, 1, 2000)
    np.testing.assert_allclose(tails.t_sf(t, df), stats.t.sf(t, df), rtol=1e-12)
    np.testing.assert_allclose(tails.t_isf(p, df), stats.t.isf(p, df), rtol=1e-9, atol=1e-12)
    np.testing.assert_allclose(tails.f_sf(f, df, within), stats.f.sf(f, df, within), rtol=1e-12)
    np.testing.assert_allclose(tails.f_isf(p, df, within), stats.f.isf(p, df, within), rtol=1e-9, atol=1e-12)
    np.testing.assert_allclose(tails.chi2_sf(9 * f, df), stats.chi2.sf(9 * f, df), rtol=1e-12)
    np.testing.assert_allclose(tails.chi2_ppf(p, df), stats.chi2.ppf(p, df), rtol=1e-12)
    assert (tails.f_sf(-1e-17, 3, 9), tails.chi2_sf(-1e-17, 3)) == (1, 1)


def test_even_points_are_those_of_scipy_within_the_table_and_beyond() -> None:
    for dimensions in (1, 2, 3, 9, MOST, MOST + 1):
        theirs = qmc.Sobol(dimensions, rng=np.random.default_rng(0)).random_base2(6)
        np.testing.assert_array_equal(sobol(dimensions, 6), theirs)


def test_ranks_with_ties_and_gaps_are_those_of_scipy() -> None:
    rng = np.random.default_rng(7)
    scores = rng.integers(1, 6, (200, 5)).astype(float)
    scores[rng.random(scores.shape) < 0.2] = np.nan
    np.testing.assert_array_equal(_ranks(scores), stats.rankdata(scores, axis=1, nan_policy="omit"))


def test_fishers_exact_test_is_that_of_scipy() -> None:
    rng = np.random.default_rng(11)
    for counts in rng.integers(0, 14, (300, 2, 2)) + np.eye(2, dtype=int):
        assert abs(fisher_exact(counts.tolist()) - stats.fisher_exact(counts).pvalue) < 1e-12


def test_a_normal_cut_off_is_that_of_scipy_in_far_tails_too() -> None:
    rng = np.random.default_rng(13)
    p = np.array([0.001, 0.1, 0.5, 0.9, 0.999])
    for low, high in np.sort(rng.normal(0, 6, (300, 2)), axis=1):
        np.testing.assert_allclose(cut_normal(p, low, high), stats.truncnorm.ppf(p, low, high), rtol=1e-9, atol=1e-12)


def test_answers_that_are_needed_are_those_of_scipys_binomial() -> None:
    rng = np.random.default_rng(17)
    for guessing in (1 / 10, 1 / 3, 1 / 2):
        alpha, beta, share = rng.uniform(0.001, 0.3), rng.uniform(0.01, 0.4), rng.uniform(0.05, 0.7)
        counts = np.arange(1, 3001)
        needed = stats.binom.isf(alpha * AT_MOST, counts, guessing) + 1
        power = stats.binom.sf(needed - 1, counts, guessing + (1 - guessing) * share)
        np.testing.assert_array_equal(
            _suffices(share, alpha, beta, guessing, 1), (needed <= counts) & (power >= 1 - beta)
        )
        for answers in (1, 5, 12, 60, 341):
            fewest = int(needed[answers - 1])
            assert right_answers_needed(answers, guessing, alpha) == (fewest if fewest <= answers else None)
