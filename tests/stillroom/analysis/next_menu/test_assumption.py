"""Ranges that data narrow, held against the textbook's normal table and closed forms."""

import numpy as np
import pytest

from stillroom.analysis.next_menu.assumption import Assumption, pooled


def test_without_data_everything_in_the_range_is_equally_likely():
    one = Assumption(least=0.2, most=0.8)
    assert (one.low, one.high) == pytest.approx((0.26, 0.74))
    assert not one.narrowed


def test_far_from_both_ends_the_interval_is_that_of_the_normal():
    # 1.2816: the 90 % point of the normal, as tables have it.
    one = Assumption(least=0.0, most=1.0, estimate=0.5, error=0.05)
    assert (one.low, one.high) == pytest.approx((0.5 - 1.2816 * 0.05, 0.5 + 1.2816 * 0.05), abs=1e-4)
    assert one.narrowed


def test_it_never_leaves_its_range_however_far_the_estimate_lies():
    one = Assumption(least=0.0, most=1.0, estimate=-8.0, error=0.5)
    values = one.draws(200, np.random.default_rng(1))
    assert values.min() >= 0
    assert values.max() <= 1
    assert one.high < 0.1


def test_an_error_as_wide_as_the_range_says_nothing():
    assert not Assumption(least=0.0, most=1.0, estimate=0.4, error=1.0).narrowed


def test_a_stated_figure_is_that_figure():
    one = Assumption(least=0.6, most=0.6, estimate=0.1, error=0.01)
    assert one.stated
    assert set(one.draws(5, np.random.default_rng(1))) == {0.6}


def test_estimates_weigh_by_their_precision():
    # By hand: weights 100 and 25; mean (100 x 0.2 + 25 x 0.7) / 125, error 1 / sqrt(125).
    one = pooled(0.0, 1.0, [(0.2, 0.1), (0.7, 0.2)])
    assert (one.estimate, one.error, one.cases) == (pytest.approx(0.3), pytest.approx(125**-0.5), 2)
