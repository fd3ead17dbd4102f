"""Weekly trend against statsmodels' own quasi-Poisson fit and known truth."""

import numpy as np
import pytest

from stillroom.analysis.menu.trend import holm, weekly_trend


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


def test_holm_of_the_thrombolysis_example() -> None:
    # Benjamini & Hochberg 1995, JRSS B 57:289 (p-values from memory): Holm rejects 3 at .05.
    p_values = [
        0.0001,
        0.0004,
        0.0019,
        0.0095,
        0.0201,
        0.0278,
        0.0298,
        0.0344,
        0.0459,
        0.3240,
        0.4262,
        0.5719,
        0.6528,
        0.7590,
        1,
    ]
    assert sum(p <= 0.05 for p in holm(p_values)) == 3
    assert holm([]) == []
