"""Where guests go: sums by hand."""

import numpy as np
import pytest

from stillroom.analysis.next_menu.menu_demand import moved_serves, new_serves, price_factors

DAY = np.array([[[10.0, 6.0, 4.0]]])  # one draw, one day, three drinks
ONE = np.ones((1, 3))
NONE = np.zeros((1, 1, 0))


def test_guests_of_a_dropped_drink_go_to_the_others_in_proportion():
    found = moved_serves(DAY, np.array([False, True, True]), ONE, NONE, np.array([0.5]))
    # By hand: 5 of 10 stay, 3 to the drink that sells 6, 2 to that which sells 4.
    assert found[0, 0].tolist() == pytest.approx([0, 9, 6])


def test_nobody_returns_where_the_share_is_none():
    found = moved_serves(DAY, np.array([False, True, True]), ONE, NONE, np.array([0.0]))
    assert found[0, 0].tolist() == [0, 6, 4]


def test_a_new_drink_takes_from_the_others_what_would_go_back_to_them():
    found = moved_serves(DAY, np.array([True, True, True]), ONE, np.array([[[8.0]]]), np.array([0.5]))
    assert found[0, 0].tolist() == pytest.approx([10 - 2, 6 - 1.2, 4 - 0.8, 8])
    back = moved_serves(found, np.array([True, True, True, False]), np.ones((1, 4)), NONE, np.array([0.5]))
    assert back[0, 0].tolist() == pytest.approx([10, 6, 4, 0])


def test_a_dearer_drink_loses_guests_of_whom_some_stay():
    factor = price_factors(np.array([-1.0]), np.array([10.0, 8.0, 8.0]), np.array([20.0, 8.0, 8.0]))
    assert factor[0].tolist() == [0.5, 1, 1]
    found = moved_serves(DAY, np.array([True, True, True]), factor, NONE, np.array([1.0]))
    assert found.sum() == pytest.approx(DAY.sum())
    assert found[0, 0].tolist() == pytest.approx([5 * 4 / 3, 6 * 4 / 3, 4 * 4 / 3])


def test_a_new_drink_sells_so_many_times_the_mean_drink():
    today = np.tile(DAY, (4000, 1, 1))
    found = new_serves(today, np.full((4000, 1), 0.6), seed=1)
    # Poisson of mean 4: standard error of the mean 2 / sqrt(4000).
    assert found.mean() == pytest.approx(4.0, abs=4 * 2 / 4000**0.5)
