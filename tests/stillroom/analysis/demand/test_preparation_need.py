"""From serves to preparations: arithmetic by hand."""

from datetime import date, timedelta

import numpy as np
import pytest

from stillroom.analysis.demand.preparation_need import preparation_need
from store_frames import frame

DAY = date(2026, 11, 1)
USE = "business_date preparation used_by amount unit"


def test_straight_inner_and_whole_needs() -> None:
    use = frame(
        "preparation_use",
        [
            (DAY - timedelta(days=9), "shrub", "Sour", 400.0, "ml"),  # an earlier version: 40 ml a serve
            (DAY, "shrub", "Sour", 150.0, "ml"),  # 5 serves, 30 ml each
            (DAY, "syrup", "Fizz", 40.0, "ml"),  # 2 serves, 20 ml each
            (DAY - timedelta(days=3), "syrup", "shrub", 500.0, "ml"),  # to make 2000 ml of shrub
            (DAY - timedelta(days=2), "vinegar", "syrup", 30.0, "ml"),  # to make 300 ml of syrup
            (DAY, "syrup", "Fizz", 3.0, "g"),  # a line no density joins: left out
        ],
        USE,
    )
    sold = [(DAY - timedelta(days=9), "Sour", 10.0), (DAY, "Sour", 5.0), (DAY, "Fizz", 2.0)]
    daily = frame("daily_serves", sold, "business_date spec serves")
    made = [("shrub", DAY - timedelta(days=3), 2000.0), ("syrup", DAY - timedelta(days=2), 300.0)]
    fate = frame("batch_fate", made, "preparation made_on made")
    found = preparation_need(use, daily, fate, ["Fizz", "Sour", "Unsold"])
    assert found.preparations == ("shrub", "syrup", "vinegar")
    assert found.units == ("ml", "ml", "ml")
    assert found.straight.tolist() == [[0, 20, 0], [30, 0, 0], [0, 0, 0]]
    assert found.inner[0, 1] == pytest.approx(0.25)
    # A Sour takes 30 ml of shrub, for it 7.5 ml of syrup, for that 0.75 ml of vinegar.
    assert found.whole[1].tolist() == pytest.approx([30, 7.5, 0.75])
    assert found.whole[0].tolist() == pytest.approx([0, 20, 2])


def test_nothing_used() -> None:
    found = preparation_need(frame("preparation_use"), frame("daily_serves"), frame("batch_fate"), ["Fizz"])
    assert found.preparations == ()
    assert found.whole.shape == (1, 0)
    assert np.isfinite(found.whole).all()
