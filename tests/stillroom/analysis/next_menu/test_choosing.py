"""The menu chosen by the programme beside every set there is; the whole of it is in benchmarks/choosing.py."""

from itertools import combinations

import numpy as np
import pytest
from benchmarks.choosing import every_set, random_house

from stillroom.analysis.next_menu.candidates import Limits
from stillroom.analysis.next_menu.choosing import Judge, choose
from stillroom.analysis.next_menu.cost_curves import cost_curves, lower_hull, most_factor


@pytest.mark.parametrize(("seed", "share"), [(1, 0.0), (2, 0.0), (3, 0.6)])
def test_it_is_the_best_of_every_set(seed, share):
    house = random_house(seed, drinks=6, preparations=3, share=share, draws=25)
    limits = Limits(drinks=3, preparations=3, must=(0,), one_of=((1, 2),))
    every = every_set(house, limits)
    assert len(every) == 6  # by hand: drink 0, one of two, one of the three others
    choice = choose(house, limits)
    assert choice is not None
    best = max(every.values())
    assert choice.best.scored.left >= best - (0.005 * abs(best) if share else 1e-9)
    found = [choice.best, *choice.next_best]
    assert {menu.chosen for menu in found} == set(every)
    assert [menu.scored.left for menu in found] == sorted(every.values(), reverse=True)


def test_limits_are_kept_and_what_they_cost_is_said():
    house = random_house(5, drinks=6, preparations=4, share=0.0, draws=25)
    free = choose(house, Limits(drinks=3))
    assert free is not None
    needs = len(free.best.scored.preparations)
    tight = choose(house, Limits(drinks=3, preparations=needs - 1, minutes=free.best.scored.minutes))
    assert tight is not None
    assert len(tight.best.scored.preparations) < needs
    assert tight.best.scored.minutes <= free.best.scored.minutes
    assert tight.best.scored.left <= free.best.scored.left
    prices = {price.limit: price.more for price in tight.prices}
    assert prices[f"{needs} preparations"] >= -1e-9
    assert set(prices) >= {"2 drinks", "4 drinks", f"{needs - 2} preparations"}


def test_limits_that_nothing_keeps_to_give_no_menu():
    house = random_house(5, drinks=5, preparations=4, share=0.0, draws=10)
    assert choose(house, Limits(drinks=4, one_of=((0, 1, 2, 3),))) is None


def test_exchanging_drinks_finds_the_best_set_by_the_curves():
    house = random_house(8, drinks=7, preparations=3, share=0.4, draws=25)
    limits = Limits(drinks=3)
    judge = Judge(house, cost_curves(house, most_factor(house, 3)))
    sets = [judge.row(one) for one in combinations(range(7), 3)]
    values = judge.value(np.array(sets), house.weekly, limits)
    climbed = judge.climbed(sets[0], house.weekly, limits)
    assert judge.value(climbed[None], house.weekly, limits)[0] == pytest.approx(values.max())


def test_a_curve_says_what_the_plan_says_of_every_set_of_up_to_three_drinks():
    house = random_house(3, drinks=5, preparations=2, share=0.0, draws=25)
    curves = cost_curves(house, 1.0)
    for place, curve in enumerate(curves):
        users = np.flatnonzero(house.whole[:, place] > 0)
        assert curve.amount[0] == 0
        assert curve.cost[0] == 0
        assert curve.amount[-2] == pytest.approx((house.weekly * house.whole[:, place]).sum())
        if len(users) <= 3:
            assert len(curve.amount) == 2 ** len(users) + 1
        hull = lower_hull(curve)
        assert (np.interp(curve.amount[1:], hull.amount, hull.cost) <= curve.cost[1:] + 1e-9).all()


def test_a_firm_drink_is_in_every_redrawn_best_set():
    house = random_house(4, drinks=5, preparations=2, share=0.0, draws=25)
    choice = choose(house, Limits(drinks=2, must=(4,)))
    assert choice is not None
    assert choice.firm[4] == 1
    assert choice.firm.sum() == pytest.approx(2)
