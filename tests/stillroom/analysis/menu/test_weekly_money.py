"""Weeks of money: von Neumann's successive differences, and intervals that hold what they promise."""

from datetime import date
from math import sqrt

import numpy as np
import pytest

from stillroom.analysis.menu.weekly_money import mondays, ratio_of_weeks, reach_of_sum, scatter, whole_weeks


def test_mondays_and_whole_weeks_of_a_stretch():
    first, last = date(2026, 3, 4), date(2026, 3, 23)  # Wednesday to Monday
    assert [day.day for day in mondays(first, last)] == [2, 9, 16, 23]
    assert [day.day for day in whole_weeks(first, last)] == [9, 16]


def test_the_scatter_is_numpys_for_white_noise_and_blind_to_a_trend():
    """Of independent weeks the mean square successive difference estimates the variance (von Neumann et al. 1941)."""
    noise = np.random.default_rng(20260302).normal(0, 10, 20_000)
    assert scatter(list(noise)) == pytest.approx(noise.std(ddof=1), rel=0.02)
    trend = noise + 0.5 * np.arange(len(noise))
    assert scatter(list(trend)) == pytest.approx(10, rel=0.02)


def test_too_few_weeks_give_no_interval():
    assert reach_of_sum([1.0, 2.0, 3.0], 3) is None
    assert ratio_of_weeks([2.0, 2.0], [1.0]) == (2.0, None, None)
    assert ratio_of_weeks([1.0], [0.0]) is None
    assert ratio_of_weeks([], [1.0]) is None


def test_the_intervals_hold_what_they_promise():
    """A seeded simulation of seasons of 13 weeks with a trend; benchmarks/seasons.py has more rounds."""
    from benchmarks.seasons import coverage

    held = coverage(rounds=1500, seed=7)
    assert 0.93 <= held.sums <= 0.985
    assert 0.93 <= held.ratios <= 0.985


def test_the_reach_by_hand():
    """10, 12, 10, 12: s² = (4 + 4 + 4) / 6 = 2; Student's t with 2 degrees of freedom is 4.3027 (any table)."""
    assert reach_of_sum([10.0, 12.0, 10.0, 12.0], 4) == pytest.approx(4.3027 * sqrt(2) * 2, rel=1e-4)
