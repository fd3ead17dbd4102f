"""How new drinks may sell: levels by hand, and the predictive interval of a normal sample."""

from math import log

import numpy as np
import pytest
from scipy.stats import t as student

from sales_frames import history_of, truth
from stillroom.analysis.next_menu.newcomers import newcomer


def house(levels, since=28, days=84):
    """Drinks there from the first day that sell 10 each, and new ones that sell so many times that."""
    shares = np.array([10.0] * 4 + [10 * level for level in levels])
    mean = truth(days, shares, shares.sum())
    mean[:since, 4:] = 0
    return history_of(mean, {4 + place: since for place in range(len(levels))})


def test_with_three_new_drinks_their_levels_give_the_range():
    found = newcomer([house([0.5, 1.0, 2.0])])
    assert found.own
    assert found.drinks == ("Drink 04", "Drink 05", "Drink 06")
    # Each beside the mean of the six others: 0.5 / (7/6) ... by hand.
    levels = [0.5 / (7 / 6), 1.0 / (6.5 / 6), 2.0 / (5.5 / 6)]
    logs = np.log(levels)
    # Prior of 0.5 worth four degrees; predictive of three values: a third more.
    variance = (4 * 0.5**2 + ((logs - logs.mean()) ** 2).sum()) / 6
    reach = student.ppf(0.9, 6) * (variance * 4 / 3) ** 0.5
    assert (log(found.low), log(found.high)) == pytest.approx((logs.mean() - reach, logs.mean() + reach))


def test_with_fewer_all_drinks_stand_in():
    found = newcomer([house([2.0])])
    assert not found.own
    assert len(found.drinks) == 5
