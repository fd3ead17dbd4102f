"""What became of what was made, and what will become of what is there."""

from datetime import date, timedelta
from typing import Any

import numpy as np
import polars as pl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import store_frames
from stillroom.analysis.batches.on_hand import (
    FINE,
    LIKELY,
    NO_USE,
    NO_USE_BY,
    SURE,
    left_at_use_by,
    outlook,
)
from stillroom.analysis.batches.use_rate import rates_of_use
from stillroom.analysis.batches.waste import FATES, fate_by_preparation

TODAY = date(2026, 11, 22)


def batch(label: str, preparation: str, days_ago: int, keeps: int, made: float, **fate: Any) -> dict[str, Any]:
    made_on = TODAY - timedelta(days=days_ago)
    cost = fate.pop("cost", made / 100)
    lost = sum(fate.get(name, 0.0) for name in ("poured_away", "spoiled", "left_at_use_by"))
    return {
        "batch": label,
        "venue": "bar",
        "preparation": preparation,
        "version": 1,
        "made_on": made_on,
        "use_by": made_on + timedelta(days=keeps),
        "made": made,
        **dict.fromkeys(FATES, 0.0),
        "unit": "ml",
        "ended_on": None,
        "cost_made": cost,
        "cost_lost": None if cost is None else cost * lost / made,
        "last_day": TODAY,
        **fate,
    }


def frame(*rows: dict[str, Any]) -> pl.DataFrame:
    return store_frames.frame("batch_fate", rows)


def use(preparation: str, days: int, amount: float) -> pl.DataFrame:
    rows = [("bar", TODAY - timedelta(days=day), preparation, "Drink", amount, "ml") for day in range(days)]
    return store_frames.frame("preparation_use", rows)


def test_shares_lost_leave_out_what_is_still_there() -> None:
    fate = frame(
        batch("A1", "Shrub", 60, 9, 1000, used=600, poured_away=300, spoiled=100),
        batch("A2", "Shrub", 40, 9, 1000, used=700, left_at_use_by=300),
        batch("A3", "Shrub", 20, 9, 1000, used=1000),
        batch("A4", "Shrub", 2, 9, 1000, used=200, on_hand=800),
        batch("B1", "Syrup", 30, 20, 500, used=500, cost=None),
        batch("old", "Shrub", 400, 9, 1000, poured_away=1000),
    )
    found = fate_by_preparation(fate, TODAY - timedelta(days=90), TODAY)
    shrub = found.row(0, named=True)
    assert shrub["preparation"] == "Shrub"
    assert (shrub["batches"], shrub["finished"], shrub["with_loss"]) == (4, 3, 2)
    assert shrub["lost"] == 700
    assert shrub["lost_share"] == pytest.approx(700 / 3200)
    assert shrub["low"] < shrub["lost_share"] < shrub["high"]
    assert shrub["cost_lost"] == pytest.approx(7)
    assert shrub["keep_days"] == 10
    syrup = found.row(1, named=True)
    assert (syrup["lost_share"], syrup["low"], syrup["cost_lost"], syrup["unpriced"]) == (0, None, None, 0)


def test_equal_batches_give_the_interval_of_their_mean() -> None:
    # With batches of one size the ratio is the mean of shares: 95 % interval by t on two degrees of freedom.
    fate = frame(
        *(batch(f"A{i}", "Shrub", 60, 9, 100, used=100 - p, poured_away=p) for i, p in enumerate((20, 30, 40)))
    )
    row = fate_by_preparation(fate, TODAY - timedelta(days=90), TODAY).row(0, named=True)
    reach = 4.302653 * 0.10 / 3**0.5  # t quantile: any printed table, e.g. NIST/SEMATECH e-Handbook 1.3.6.7.2
    assert (row["low"], row["high"]) == pytest.approx((0.3 - reach, 0.3 + reach), abs=1e-6)


def test_nothing_lost_or_all_of_it_is_not_certain_for_ever() -> None:
    # Clopper & Pearson: none of 5 may be up to 1 - 0.025^(1/5) = 52.18 %, and all of 5 down to 47.82 %.
    kept = [batch(f"A{i}", "Shrub", 60, 9, 100, used=100) for i in range(5)]
    gone = [batch(f"B{i}", "Syrup", 60, 9, 100, spoiled=100) for i in range(5)]
    found = fate_by_preparation(frame(*kept, *gone), TODAY - timedelta(days=90), TODAY)
    rows = {row["preparation"]: (row["low"], row["high"]) for row in found.iter_rows(named=True)}
    assert rows["Shrub"] == pytest.approx((0.0, 0.52182), abs=1e-5)
    assert rows["Syrup"] == pytest.approx((0.47818, 1.0), abs=1e-5)


def test_no_batches() -> None:
    assert fate_by_preparation(frame(), TODAY, TODAY).is_empty()
    assert outlook(frame(), {}).is_empty()


def test_on_hand_at_the_present_rate() -> None:
    fate = frame(
        batch("much", "Shrub", 2, 7, 2000, used=100, on_hand=1900),  # 5 days left at 100 a day
        batch("enough", "Syrup", 2, 12, 500, on_hand=500),  # 10 days left at 100 a day
        batch("unused", "Tincture", 2, 12, 100, on_hand=100),
        batch("gone", "Shrub", 20, 7, 2000, used=2000),
        batch("undated", "Bitters", 2, 7, 100, on_hand=90) | {"use_by": None},
    )
    steady = np.full((3, 42), 100.0)
    found = {
        row["batch"]: row
        for row in outlook(fate, {("bar", "Shrub"): steady, ("bar", "Syrup"): steady}).iter_rows(named=True)
    }
    assert set(found) == {"much", "enough", "unused", "undated"}
    assert (found["undated"]["verdict"], found["undated"]["left"]) == (NO_USE_BY, None)
    assert found["much"]["verdict"] == SURE
    assert found["much"]["left"] == pytest.approx(1400)
    assert found["much"]["cost_left"] == pytest.approx(14)
    assert found["enough"]["verdict"] == FINE
    assert found["unused"]["verdict"] == NO_USE
    assert found["unused"]["left"] == 100


def test_unexplained_has_its_price() -> None:
    fate = frame(
        batch("A1", "Shrub", 60, 9, 1000, used=900, unexplained=100, cost=20.0),
        batch("A2", "Shrub", 40, 9, 500, used=550, unexplained=-50, cost=5.0),
    )
    row = fate_by_preparation(fate, TODAY - timedelta(days=90), TODAY).row(0, named=True)
    assert row["cost_unexplained"] == pytest.approx(100 * 0.02 - 50 * 0.01)


def test_the_second_batch_waits_for_the_first() -> None:
    fate = frame(
        batch("first", "Shrub", 4, 10, 600, on_hand=600),  # 6 days left
        batch("second", "Shrub", 1, 10, 600, on_hand=600),  # 9 days left, starts after six
    )
    found = outlook(fate, {("bar", "Shrub"): np.full((3, 42), 100.0)})
    assert found["left"].to_list() == pytest.approx([0, 300])
    assert found["verdict"].to_list()[1] in (SURE, LIKELY)


def test_a_rate_begins_with_the_first_use_and_voids_do_not_begin_it() -> None:
    rates = rates_of_use(use("New", 7, 50.0), TODAY)
    assert rates["bar", "New"].days == 7
    assert rates_of_use(use("Old", 7, 0.0), TODAY) == {}


@settings(deadline=None, max_examples=50)
@given(
    st.lists(st.tuples(st.integers(1, 50), st.integers(0, 12)), max_size=5),
    st.lists(st.integers(0, 20), min_size=5, max_size=5),
)
def test_left_at_use_by_is_what_a_day_by_day_loop_leaves(batches: list[tuple[int, int]], use: list[int]) -> None:
    amounts, days = [float(a) for a, _ in batches], sorted(d for _, d in batches)
    until = [TODAY + timedelta(days=number) for number in days]
    # After the days that were drawn, use goes on as its last four weeks: here five days, over and over.
    left = left_at_use_by(amounts, until, TODAY, np.array([use], dtype=float))
    stock = list(amounts)
    for day in range(1, max(days, default=0) + 1):
        wanted = float(use[(day - 1) % 5])
        for place, last in enumerate(days):
            taken = min(stock[place], wanted) if day <= last else 0.0
            stock[place] -= taken
            wanted -= taken
    assert left.reshape(-1).tolist() == pytest.approx(stock)
