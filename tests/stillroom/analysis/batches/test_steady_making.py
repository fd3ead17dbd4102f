"""A mean week of a preparation, where it can be reckoned by hand."""

import numpy as np
import pytest

from stillroom.analysis.batches.making_way import Costs
from stillroom.analysis.batches.steady_making import Made, steady_week

COSTS = Costs(waste=0.01, short=1.0, making=5.0)
STEADY = np.full((20, 28), 100.0)


def mean(found):
    return [float(getattr(found, name).mean()) for name in ("used", "wasted", "short", "makings")]


def test_what_keeps_a_day_is_made_every_day_as_much_as_is_used():
    found = steady_week(STEADY, Made(keeps=1, step=100, most=200, next_making=1), COSTS)
    assert mean(found) == pytest.approx([700, 0, 0, 7])


def test_a_making_too_big_for_its_keep_is_poured_away():
    # By hand: 300 are made, 100 used on each of two days, 100 poured away.
    found = steady_week(STEADY, Made(keeps=2, step=300, most=300, next_making=1), COSTS)
    assert mean(found) == pytest.approx([700, 350, 0, 3.5])


def test_what_keeps_long_is_made_seldom_and_lasts():
    # Makings of 7 000 last ten weeks: 0.1 a week; what keeps a year is followed in steps of 13 days.
    found = steady_week(STEADY, Made(keeps=364, step=7000, most=7000, next_making=1), COSTS)
    used, wasted, short, makings = mean(found)
    assert (used, wasted, short) == pytest.approx((700, 0, 0))
    assert makings == pytest.approx(0.1, abs=0.03)


def test_nothing_wanted_is_nothing_made():
    assert mean(steady_week(0 * STEADY, Made(keeps=5, step=1, most=2, next_making=1), COSTS)) == [0, 0, 0, 0]


def test_its_cost_is_what_the_three_come_to():
    found = steady_week(STEADY, Made(keeps=2, step=300, most=300, next_making=1), COSTS)
    assert found.cost(COSTS).mean() == pytest.approx(0.01 * 350 + 5 * 3.5)
