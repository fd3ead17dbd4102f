"""Repeated answers, and the A-not-A test."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from stillroom.analysis.trials.a_not_a import recognised
from stillroom.analysis.trials.repeats import worth_of


def test_answers_of_people_of_their_own_count_whole() -> None:
    assert worth_of([1, 0, 1, 1], [1, 1, 1, 1]).answers == 4


def test_the_same_answer_over_and_over_is_one_answer() -> None:
    assert worth_of([5, 0, 5, 0, 5, 5], [5] * 6).answers == pytest.approx(6, abs=0.3)


@pytest.mark.parametrize("correlation", [0.0, 0.2, 0.5])
def test_the_correlation_of_a_beta_binomial_is_found(correlation: float) -> None:
    # Drawn from it: SciPy's beta-binomial; correlation = 1 / (a + b + 1), Skellam (1948).
    n, mean = 6, 0.6
    spread = (1 - correlation) / correlation if correlation else 1e6
    right = stats.betabinom(n, mean * spread, (1 - mean) * spread).rvs(2000, random_state=np.random.default_rng(1))
    found = worth_of(right.tolist(), [n] * 2000)
    assert found.correlation == pytest.approx(correlation, abs=0.03)
    assert found.answers == pytest.approx(12000 / (1 + 5 * found.correlation))


def test_a_not_a_is_fishers_test_and_its_limits_agree_with_it() -> None:
    for hits in range(4, 16):
        found = recognised(hits, 15, 4, 15)
        table = [[hits, 15 - hits], [4, 11]]
        assert found.p == pytest.approx(stats.fisher_exact(table, alternative="greater").pvalue)
        assert (found.p < 0.05) == (found.d_low > 0)


def test_the_index_of_a_not_a_is_that_of_signal_detection() -> None:
    # d' = z(H) - z(F): 0.84 and 0.16 lie one standard deviation from the middle each (normal tables).
    found = recognised(84, 100, 16, 100)
    assert found.d_prime == pytest.approx(1.989, abs=0.001)
    assert found.d_low < found.d_prime
    assert found.d_high is not None
    assert found.d_high > found.d_prime


def test_limits_of_odds_are_the_conditional_ones_of_scipy() -> None:
    interval = stats.contingency.odds_ratio([[14, 6], [7, 13]], kind="conditional").confidence_interval(0.9)
    from stillroom.analysis.trials.a_not_a import _odds

    assert _odds(14, 20, 21, 20) == pytest.approx((interval.low, interval.high), rel=1e-4)
