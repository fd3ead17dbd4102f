"""The elasticity from a change of price, by hand."""

from datetime import date
from math import log

import pytest

from stillroom.analysis.menu.version_change import Change, Effect
from stillroom.analysis.next_menu.price_response import price_estimates


def effect(before, after, ratio, low, high):
    change = Change(
        spec="A",
        kind="drink",
        old=1,
        new=2,
        day=date(2026, 3, 2),
        drinks=("A",),
        price_before=before,
        price_after=after,
    )
    return Effect(change=change, ratio=ratio, low=low, high=high)


def test_it_is_the_ratio_of_serves_over_that_of_prices_in_logarithms():
    ((value, error),) = price_estimates([effect(10, 11, 0.9, 0.8, 0.9**2 / 0.8)])
    assert value == pytest.approx(log(0.9) / log(1.1))
    assert error == pytest.approx(log(0.9 / 0.8) / 1.959964 / log(1.1), rel=1e-6)


def test_a_change_that_cannot_be_told_or_is_none_says_nothing():
    assert price_estimates([effect(10, 11, None, None, None), effect(10, 10, 1.2, 1.1, 1.3)]) == []
