"""The last making, beside sums by hand and the newsvendor."""

import numpy as np
import pytest
from scipy.stats import poisson

from stillroom.analysis.batches.making_plan import Lot
from stillroom.analysis.batches.making_way import Costs
from stillroom.analysis.batches.steady_making import Made
from stillroom.analysis.next_menu.last_making import last_making

STEADY = np.full((20, 6), 100.0)


def test_known_use_is_covered_to_the_day_with_one_making_and_nothing_left():
    made = Made(keeps=10, step=100, most=2000, next_making=1)
    found = last_making([], STEADY, made, Costs(waste=0.1, short=1.0, making=5.0))
    assert (found.day, found.size, found.left, found.chance_short) == (0, 600, 0, 0)
    assert found.left_usual >= 0
    assert found.saves >= 0


def test_what_is_on_hand_and_keeps_to_the_end_needs_no_making():
    made = Made(keeps=10, step=100, most=2000, next_making=1)
    found = last_making([Lot(amount=650, days=9)], STEADY, made, Costs(waste=0.1, short=1.0, making=5.0))
    assert (found.day, found.size) == (None, 0)
    assert found.left == pytest.approx(50)


def test_what_keeps_two_days_is_made_to_the_end_but_for_the_last():
    made = Made(keeps=2, step=200, most=200, next_making=1)
    found = last_making([], STEADY, made, Costs(waste=0.1, short=1.0, making=5.0))
    # By hand: 200 on the first, third and fifth day.
    assert (found.day, found.size, found.left) == (4, 200, 0)


def test_on_the_last_day_it_is_the_newsvendor():
    generator = np.random.default_rng(3)
    use = generator.poisson(40, size=(4000, 1)).astype(float)
    costs = Costs(waste=0.3, short=1.0, making=0.0)
    found = last_making([], use, Made(keeps=5, step=1, most=200, next_making=1), costs)
    # Critical ratio 1 / 1.3 of a Poisson of mean 40, by SciPy; a step more or less is chance of the draws.
    assert found.size == pytest.approx(poisson(40).ppf(1 / 1.3), abs=1)


def test_it_is_never_dearer_than_as_usual():
    generator = np.random.default_rng(5)
    for keeps in (2, 5, 20):
        use = generator.negative_binomial(4, 0.1, size=(100, 10)).astype(float)
        found = last_making([Lot(amount=60, days=2)], use, Made(keeps=keeps, step=50, most=400, next_making=2),
                            Costs(waste=0.2, short=0.8, making=4.0))  # fmt: skip
        assert found.saves >= 0
        assert found.left <= found.left_usual + 50
