"""Weekly trend against statsmodels' own quasi-Poisson fit and known truth."""

import numpy as np
import pytest
from statsmodels.genmod.families import Poisson
from statsmodels.genmod.generalized_linear_model import GLM

from stillroom.analysis.menu.trend import poisson_regression, weekly_trend


@pytest.mark.parametrize("seed", range(12))
def test_the_regression_is_statsmodels(seed: int) -> None:
    generator = np.random.default_rng(seed)
    weeks = np.arange(generator.integers(5, 30), dtype=float)
    exposure = generator.uniform(0.5, 7, len(weeks))
    counts = generator.poisson(exposure * np.exp(generator.normal(1, 2) + generator.normal(0, 0.3) * weeks / 5)) + 0.0
    counts[-1] += 1
    design = np.column_stack([np.ones(len(weeks)), weeks - weeks.mean()])
    theirs = GLM(counts, design, family=Poisson(), offset=np.log(exposure)).fit(tol=1e-12)
    coefficients, errors, pearson = poisson_regression(counts, design, exposure)
    assert coefficients == pytest.approx(theirs.params, rel=1e-6, abs=1e-8)
    assert errors == pytest.approx(theirs.bse, rel=1e-6)
    assert pearson == pytest.approx(theirs.pearson_chi2, rel=1e-6)


def test_agrees_with_the_closed_form_for_two_rates() -> None:
    # With x in two values the maximum likelihood slope is the log ratio of the two rates.
    trend = weekly_trend([0, 0, 0, 1, 1, 1], [10, 12, 11, 22, 20, 24], [1, 1, 1, 1, 1, 1])
    assert trend.change == pytest.approx(66 / 33 - 1, abs=1e-6)


def test_holds_the_true_change_about_as_often_as_it_says() -> None:
    generator = np.random.default_rng(7)
    weeks = np.arange(13)
    mean = 60 * 1.03**weeks
    inside = 0
    for _ in range(200):
        counts = generator.negative_binomial(15, 15 / (15 + mean))
        trend = weekly_trend(list(weeks), list(counts), [6.0] * 13)
        assert trend.low is not None
        assert trend.high is not None
        inside += trend.low <= 0.03 <= trend.high
    # 95 % of 200 is 190; a fair interval falls below 178 less than once in 10 000 times (binomial).
    assert inside >= 178


def test_short_weeks_do_not_look_like_a_fall() -> None:
    trend = weekly_trend(range(6), [60, 60, 60, 60, 60, 20], [6, 6, 6, 6, 6, 2])
    assert trend.change == pytest.approx(0, abs=1e-9)


@pytest.mark.parametrize(
    ("counts", "exposure", "why"),
    [
        ([5, 5, 5], [6, 6, 6], "3 weeks"),
        ([0, 0, 0, 0, 0, 0], [6] * 6, "0 serves"),
        ([90, 0, 0, 0, 0, 0], [6] * 6, "too few"),
        ([9, 9, 9, 9, 9, 9], [0] * 6, "0 weeks"),
        ([-3, 1, 1, 1, 1, 1], [6] * 6, "too few"),
    ],
)
def test_says_why_it_cannot_tell(counts: list[float], exposure: list[float], why: str) -> None:
    trend = weekly_trend(range(len(counts)), counts, exposure)
    assert trend.change is None
    assert why in trend.why_not


def test_a_drink_lifted_by_a_new_version_steps_and_does_not_rise_by_a_part_each_week() -> None:
    """Thirteen weeks, half as much again from the seventh on: told as 'rising by 7.2 % a week' before."""
    generator = np.random.default_rng(5)
    stepped = 0
    for _ in range(20):
        counts = generator.poisson(np.where(np.arange(13) >= 6, 90, 60))
        trend = weekly_trend(range(13), list(counts), [6.0] * 13, known=[6.2])
        assert trend.p_value is not None
        assert trend.p_value < 0.05
        if trend.step is not None and trend.step.week == 6:
            stepped += 1
            assert trend.step.known
            assert trend.step.low < trend.step.ratio < trend.step.high
    assert stepped >= 18


def test_the_ratio_of_a_step_holds_the_true_one_about_as_often_as_it_says() -> None:
    generator = np.random.default_rng(6)
    inside, found = 0, 0
    for _ in range(100):
        mean = np.where(np.arange(16) >= 9, 75.0, 50.0)
        counts = generator.negative_binomial(40, 40 / (40 + mean))
        step = weekly_trend(range(16), list(counts), [6.0] * 16, known=[9.0]).step
        if step is not None and step.week == 9:
            found += 1
            inside += step.low <= 1.5 <= step.high
    assert found >= 55
    assert inside / found >= 0.88  # 95 % by right


def test_weeks_that_keep_their_level_are_seldom_told_to_move() -> None:
    generator = np.random.default_rng(8)
    moved = 0
    for _ in range(150):
        counts = generator.negative_binomial(15, 15 / (15 + np.full(13, 40.0)))
        trend = weekly_trend(range(13), list(counts), list(generator.integers(4, 7, 13)), known=[5.0])
        assert trend.p_value is not None
        moved += trend.kind != "level" and trend.p_value < 0.05
    assert moved <= 15  # 5 % of 150 is 7 or 8; more than 15 less than once in 100 times (binomial)
