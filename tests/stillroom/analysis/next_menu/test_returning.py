"""The share of guests who stay, found again in sales with a known truth."""

from datetime import timedelta

import numpy as np
import polars as pl
import pytest

from sales_frames import MONDAY, NEVER, SHARES, as_frame, drawn, history_of, specs, truth
from stillroom.analysis.demand.sales_history import sales_history
from stillroom.analysis.next_menu.returning import return_estimates


def without_a_drink(share, days=84, gone_from=42, level=400.0):
    mean = truth(days, SHARES, level)
    lost = mean[gone_from:, 0].copy()
    others = mean[gone_from:, 1:]
    mean[gone_from:, 1:] += share * lost[:, None] * others / np.maximum(others.sum(axis=1, keepdims=True), 1e-9)
    mean[gone_from:, 0] = 0
    return mean


def went(serves, day=42):
    """The history of a house whose first drink was on the menu for so many days."""
    until = pl.when(pl.col("spec") == "Drink 00").then(MONDAY + timedelta(days=day - 1)).alias("in_service_until")
    last = MONDAY + timedelta(days=len(serves) - 1)
    return sales_history(as_frame(serves), specs(serves.shape[1]).with_columns(until), "bar", last, NEVER)


@pytest.mark.parametrize("share", [0.0, 0.5, 1.0])
def test_without_noise_the_share_is_found_exactly(share):
    ((found, error),) = return_estimates(went(without_a_drink(share)))
    assert found == pytest.approx(share, abs=0.01)
    assert error > 0


def test_a_drink_that_comes_tells_as_much_as_one_that_goes():
    weeks = without_a_drink(0.5).reshape(12, 7, -1)[::-1].reshape(84, -1)
    ((found, _),) = return_estimates(history_of(weeks, {0: 42}))
    assert found == pytest.approx(0.5, abs=0.01)


def test_the_interval_holds_the_truth_as_often_as_it_says():
    held = 0
    for seed in range(40):
        serves = drawn(without_a_drink(0.5), np.random.default_rng(seed))
        serves[42:, 0] = 0
        ((found, error),) = return_estimates(went(serves))
        held += abs(found - 0.5) <= 1.2816 * error
    # 80 % interval in theory; not below 70 % (the binomial's 5 % point of 40 at 0.8 is 28: R's qbinom, from memory).
    assert held >= 28


def test_a_house_whose_menu_never_changed_says_nothing():
    assert return_estimates(history_of(truth(60, SHARES, 100.0))) == []
