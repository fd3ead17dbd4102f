"""Rates of use: against SciPy's Poisson and a simulation with known truth."""

import numpy as np
import pytest
from scipy.stats import poisson

from stillroom.analysis.batches.use_rate import UseRate, use_rate


def test_a_well_known_rate_predicts_like_poisson() -> None:
    rate = UseRate(total=2_000_000.0, days=1_000_000, dispersion=1.0)
    assert rate.use_in(3, 0.9) == poisson.ppf(0.9, 6)


def test_prediction_holds_the_truth_as_often_as_it_says() -> None:
    generator = np.random.default_rng(11)
    inside = 0
    for _ in range(300):
        days = generator.negative_binomial(6, 6 / (6 + 20.0), size=28 + 10) * 30.0  # serves of 30 ml
        rate = use_rate(list(days[:28]))
        assert rate is not None
        inside += rate.use_in(10, 0.1) <= days[28:].sum() <= rate.use_in(10, 0.9)
    # 80 % of 300 is 240; outside 213..267 less than once in 10 000 times (binomial) if the interval is fair.
    assert 213 <= inside <= 267


@pytest.mark.parametrize("amounts", [[], [0, 0, 0], [5, -5]])
def test_no_use_is_no_rate(amounts: list[float]) -> None:
    assert use_rate(amounts) is None


def test_days_all_alike_and_no_days_ahead() -> None:
    rate = use_rate([30.0] * 28)
    assert rate is not None
    low, high = rate.interval()
    assert 28 < low < 30 < high < 32
    assert rate.use_in(0, 0.5) == 0
