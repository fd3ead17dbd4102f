"""Randomised blocks against published examples and statsmodels."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from stillroom.analysis.panel.block_anova import fit_complete_blocks
from stillroom.analysis.panel.comparisons import (
    against_one,
    all_pairs,
    equivalence_p,
    newer_from_older,
    not_worse_p,
)
from stillroom.analysis.panel.sizes import tasters_needed
from stillroom.analysis.panel.version_fit import CannotTell

# Penicillin yield, 5 blends (blocks) x 4 treatments: Box, Hunter & Hunter, Statistics for Experimenters.
PENICILLIN = np.array([[89, 88, 97, 94], [84, 77, 92, 79], [81, 87, 87, 85], [87, 92, 89, 84], [79, 81, 80, 88]], float)


def test_penicillin_analysis_of_variance() -> None:
    fit = fit_complete_blocks(PENICILLIN)
    assert fit.residual_sd**2 == pytest.approx(226 / 12)
    assert (fit.f, fit.p) == (pytest.approx(70 / 3 / (226 / 12)), pytest.approx(0.3387, abs=1e-4))
    assert (fit.f_df_between, fit.f_df_within) == (3, 12)


def test_penicillin_tukey() -> None:
    # p as R TukeyHSD gives them, honest significant difference 8.1487.
    pairs = {(d.version, d.against): d for d in all_pairs(fit_complete_blocks(PENICILLIN))}
    expected = {(1, 0): 0.98267, (2, 0): 0.31051, (3, 0): 0.88376, (2, 1): 0.49052, (3, 1): 0.98267, (3, 2): 0.70023}
    assert {pair: d.p for pair, d in pairs.items()} == pytest.approx(expected, abs=1e-4)
    assert pairs[2, 0].high - pairs[2, 0].difference == pytest.approx(8.1487, abs=1e-4)


def test_two_versions_are_the_paired_t_test() -> None:
    scores = PENICILLIN[:, :2]
    (pair,) = all_pairs(fit_complete_blocks(scores))
    paired = stats.ttest_rel(scores[:, 1], scores[:, 0])
    interval = paired.confidence_interval(0.95)
    assert pair.p == pytest.approx(paired.pvalue)
    assert (pair.low, pair.high) == pytest.approx((interval.low, interval.high))
    (same,) = against_one(fit_complete_blocks(scores), 0)
    assert same.p == pytest.approx(paired.pvalue)


def test_against_one_is_multivariate_t_with_the_block_models_error() -> None:
    fit = fit_complete_blocks(PENICILLIN)
    differences = against_one(fit, 0)
    shape = np.full((3, 3), 0.5) + np.eye(3) / 2
    for difference in differences:
        t = abs(difference.difference) / difference.se
        joint = stats.multivariate_t(shape=shape, df=12).cdf(
            [t] * 3, lower_limit=[-t] * 3, maxpts=10**6, random_state=1
        )
        assert difference.p == pytest.approx(1 - joint, abs=5e-5)


def test_turning_a_difference_round_keeps_what_it_says() -> None:
    turned = [newer_from_older(difference) for difference in against_one(fit_complete_blocks(PENICILLIN), 2)]
    assert [(d.version, d.against, d.difference) for d in turned] == [(2, 0, 5.0), (2, 1, 4.0), (3, 2, -3.0)]
    assert all(d.low < d.difference < d.high for d in turned)


def test_not_worse_and_equivalent_are_one_sided_t_tests() -> None:
    scores = PENICILLIN[:, :2]
    (pair,) = all_pairs(fit_complete_blocks(scores))
    above = stats.ttest_1samp(scores[:, 1] - scores[:, 0], -8, alternative="greater").pvalue
    below = stats.ttest_1samp(scores[:, 1] - scores[:, 0], 8, alternative="less").pvalue
    assert not_worse_p(pair, 8) == pytest.approx(above)
    assert equivalence_p(pair, 8) == pytest.approx(max(above, below))


def test_mean_of_a_version_alone_has_the_panelists_own_levels_in_it() -> None:
    # With two panelists' levels far apart the standard error of a mean is that of the levels.
    fit = fit_complete_blocks(np.array([[1.0, 2.0], [8.0, 9.5]]))
    assert fit.mean_se[0] == pytest.approx(np.sqrt((1.5 - 8.75) ** 2 / 2 / 2 + 0.25**2 / 2), rel=0.02)


def test_tasters_needed_is_statsmodels_power_of_a_paired_test() -> None:
    from statsmodels.stats.power import TTestPower

    sd_of_differences = 1.5 * np.sqrt(2)
    expected = TTestPower().solve_power(effect_size=1 / sd_of_differences, alpha=0.05, power=0.8)
    assert tasters_needed(1.5, 2, 1.0, 1) == int(np.ceil(expected))


def test_tasters_needed_has_an_end() -> None:
    assert tasters_needed(50.0, 2, 0.1, 1) is None


@pytest.mark.parametrize(
    ("scores", "words"),
    [
        (np.array([[1.0, 2.0, 3.0]]), "only one panelist"),
        (np.full((4, 3), 5.0), "all scores are the same"),
        (np.array([[1.0, 2.0], [4.0, 5.0], [7.0, 8.0]]), "exactly the same difference"),
    ],
)
def test_what_cannot_be_told_is_said(scores: np.ndarray[tuple[int, int], np.dtype[np.float64]], words: str) -> None:
    with pytest.raises(CannotTell, match=words):
        fit_complete_blocks(scores)
