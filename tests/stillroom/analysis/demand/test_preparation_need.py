"""From serves to preparations: arithmetic by hand."""

from datetime import date, timedelta

import numpy as np
import polars as pl
import pytest

from stillroom.analysis.demand.preparation_need import preparation_need

DAY = date(2026, 11, 1)
USE = {
    "business_date": pl.Date,
    "preparation": pl.String,
    "used_by": pl.String,
    "amount": pl.Float64,
    "unit": pl.String,
}


def test_straight_inner_and_whole_needs() -> None:
    use = pl.DataFrame(
        [
            (DAY - timedelta(days=9), "shrub", "Sour", 400.0, "ml"),  # an earlier version: 40 ml a serve
            (DAY, "shrub", "Sour", 150.0, "ml"),  # 5 serves, 30 ml each
            (DAY, "syrup", "Fizz", 40.0, "ml"),  # 2 serves, 20 ml each
            (DAY - timedelta(days=3), "syrup", "shrub", 500.0, "ml"),  # to make 2000 ml of shrub
            (DAY - timedelta(days=2), "vinegar", "syrup", 30.0, "ml"),  # to make 300 ml of syrup
            (DAY, "syrup", "Fizz", 3.0, "g"),  # a line no density joins: left out
        ],
        schema=USE,
        orient="row",
    )
    daily = pl.DataFrame(
        [(DAY - timedelta(days=9), "Sour", 10.0), (DAY, "Sour", 5.0), (DAY, "Fizz", 2.0)],
        schema={"business_date": pl.Date, "spec": pl.String, "serves": pl.Float64},
        orient="row",
    )
    fate = pl.DataFrame(
        [("shrub", DAY - timedelta(days=3), 2000.0), ("syrup", DAY - timedelta(days=2), 300.0)],
        schema={"preparation": pl.String, "made_on": pl.Date, "made": pl.Float64},
        orient="row",
    )
    found = preparation_need(use, daily, fate, ["Fizz", "Sour", "Unsold"])
    assert found.preparations == ("shrub", "syrup", "vinegar")
    assert found.units == ("ml", "ml", "ml")
    assert found.straight.tolist() == [[0, 20, 0], [30, 0, 0], [0, 0, 0]]
    assert found.inner[0, 1] == pytest.approx(0.25)
    # A Sour takes 30 ml of shrub, for it 7.5 ml of syrup, for that 0.75 ml of vinegar.
    assert found.whole[1].tolist() == pytest.approx([30, 7.5, 0.75])
    assert found.whole[0].tolist() == pytest.approx([0, 20, 2])


def test_nothing_used() -> None:
    fate = pl.DataFrame(schema={"preparation": pl.String, "made_on": pl.Date, "made": pl.Float64})
    daily = pl.DataFrame(schema={"business_date": pl.Date, "spec": pl.String, "serves": pl.Float64})
    found = preparation_need(pl.DataFrame(schema=USE), daily, fate, ["Fizz"])
    assert found.preparations == ()
    assert found.whole.shape == (1, 0)
    assert np.isfinite(found.whole).all()
