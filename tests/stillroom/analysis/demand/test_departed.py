"""Drinks that leave their forecast, in houses with a known truth."""

import numpy as np

from sales_frames import SHARES, drawn, history_of, truth
from stillroom.analysis.demand.departed import departures
from stillroom.analysis.demand.replay import Replay


def house(seed: int, times: float = 1.0) -> Replay:
    """Twelve drinks and twelve weeks; the first sells so many times its usual in the last two."""
    mean = truth(84, SHARES, 100)
    mean[70:, 0] *= times
    return Replay(history_of(drawn(mean, np.random.default_rng(seed))))


def test_a_drink_that_doubles_has_left_its_forecast() -> None:
    """A drink that took off was forecast at two thirds for weeks, and nothing was said of it."""
    found = [departures(house(seed, 2.0)) for seed in range(6)]
    for left in found:
        [first] = [one for one in left if one.drink == "Drink 00"]
        assert first.more
        assert first.low < first.expected < first.high < first.served


def test_a_house_as_it_was_has_none_that_left() -> None:
    left = [one for seed in range(20) for one in departures(house(seed))]
    assert len(left) <= 4  # one house in twenty by right; more than four would come about less than once in 300 times


def test_a_young_house_has_no_forecast_to_leave() -> None:
    assert departures(Replay(history_of(truth(28, SHARES, 50).round()))) == ()
