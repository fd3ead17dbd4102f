"""Odds of a batch's size, from draws that can be counted by hand."""

import numpy as np
import pytest

from stillroom.analysis.batches.batch_size import batch_sizes

USE = np.array([[100.0, 100, 100], [100, 0, 0], [200, 200, 0], [0, 0, 100]])  # 300, 100, 400 and 100 in three days


def sizes(**changed):
    asked = {"keeps": 3, "next_making": 1, "making": 200, "step": 100, "now": 410.0, "advised": 130.0}
    return {one.size: one for one in batch_sizes(USE, **{**asked, **changed})}


def test_odds_are_counted_over_the_draws():
    """Of 200 ml two of four draws leave 100 each, and none needs more than 200 on the first day."""
    found = sizes()[200.0]
    assert (found.chance_lost, found.lost, found.chance_short) == (0.5, 50.0, 0.0)
    small = sizes()[100.0]
    assert (small.chance_lost, small.chance_short) == (0.0, 0.25)


def test_the_sizes_are_half_a_making_to_two_and_what_is_made_now_and_what_costs_least():
    """130 is one step of 100 and so half a making; 410 is two makings of 200 but for a fortieth."""
    found = sizes()
    assert list(found) == [100.0, 200.0, 410.0]
    assert [one.advised for one in found.values()] == [True, False, False]
    assert [one.now for one in found.values()] == [False, False, True]


def test_what_was_never_made_has_no_size_now():
    assert not any(one.now for one in sizes(now=None).values())


def test_the_odds_agree_with_the_newsvendors_critical_ratio():
    """With a keep of one day, waste and shortage cost least where the chance of not running out is the critical ratio
    short / (short + waste) (Arrow, Harris & Marschak 1951, from memory): here over 2 000 Poisson days."""
    use = np.random.default_rng(5).poisson(40, (2000, 1)).astype(float)
    waste, short = 1.0, 3.0
    cost = {size: np.mean(waste * np.maximum(size - use, 0) + short * np.maximum(use - size, 0)) for size in range(60)}
    best = min(cost, key=cost.__getitem__)
    [found] = [
        one
        for one in batch_sizes(use, keeps=1, next_making=1, making=best, step=best, now=None, advised=float(best))
        if one.advised
    ]
    assert 1 - found.chance_short == pytest.approx(short / (short + waste), abs=0.03)
