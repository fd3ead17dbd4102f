"""What to make: against the newsvendor's optimum, a naive loop, and a simulated truth."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import nbinom, norm, poisson

from stillroom.analysis.batches.making_plan import Lot, _missing, _stock, making_plan
from stillroom.analysis.batches.making_way import Costs


def newsvendor_cost(demand, quantity: float, short: float, waste: float) -> float:  # type: ignore[no-untyped-def]
    """Expected cost of one period, demand in whole numbers; least at the quantile of short / (short + waste).

    Arrow, Harris & Marschak 1951, as in Nahmias, *Production and Operations Analysis*, chapter 5.
    """
    left_over = float(demand.cdf(np.arange(quantity)).sum())
    return waste * left_over + short * (demand.mean() - quantity + left_over)


@pytest.mark.parametrize(
    ("demand", "short", "waste", "best", "left_over"),
    [
        # Newsstand of Nahmias (mean and deviation of the data he prints; prices from memory).
        (norm(11.73, 4.74), 0.50, 0.15, 15.22, None),
        # Base stock of Snyder & Shen, Fundamentals of Supply Chain Theory (from memory); expected cost 1.9976.
        (norm(50, 8), 0.70, 0.18, 56.604, None),
        # The hammer suit of Cachon & Terwiesch, Matching Supply with Demand (from memory), ordered at 4,186.
        (norm(3192, 1181), 80, 20, 4185.95, None),
        # Worked out from E(Q - D)+ = Q P(D <= Q) - m P(D <= Q - 1).
        (poisson(20), 4, 1, 24, 4.48760),
        (poisson(6), 3, 1, 8, 2.31402),
        (nbinom(4, 4 / 14), 3, 1, 13, 4.27918),  # mean 10, variance 10 + 100 / 4
    ],
)
def test_of_one_period_it_makes_what_textbooks_order(  # type: ignore[no-untyped-def]
    demand, short: float, waste: float, best: float, left_over: float | None
) -> None:
    use = np.maximum(demand.rvs(size=(4000, 1), random_state=3).astype(float), 0)
    step = max(1.0, best / 10)
    plan = making_plan([], use, keeps=1, next_making=1, step=step, costs=Costs(waste=waste, short=short, making=0.0))
    assert abs(plan.size - best) <= max(np.diff(plan.sizes))
    assert plan.cost[plan.sizes.index(plan.size)] == min(plan.cost)
    if left_over is not None:
        least = waste * left_over + short * (demand.mean() - best + left_over)
        assert newsvendor_cost(demand, best, short, waste) == pytest.approx(least, abs=1e-3)
        assert min(plan.cost) == pytest.approx(least, rel=0.06)  # sizes lie apart, and uses are drawn


@pytest.mark.parametrize(
    ("demand", "short", "waste"),
    [
        (poisson(20), 4.0, 1.0),
        (poisson(6), 3.0, 1.0),
        (nbinom(4, 4 / 14), 3.0, 1.0),
        (nbinom(4, 4 / 14), 1.0, 1.0),
        (poisson(200), 4.0, 1.0),  # many more sizes than are tried at first
    ],
)
def test_with_one_period_it_is_the_critical_ratio_optimum(demand, short: float, waste: float) -> None:  # type: ignore[no-untyped-def]
    use = demand.rvs(size=(4000, 1), random_state=1).astype(float)
    costs = Costs(waste=waste, short=short, making=0.0)
    plan = making_plan([], use, keeps=1, next_making=1, step=1.0, costs=costs)
    best = demand.ppf(short / (short + waste))
    assert abs(plan.size - best) <= 1  # 4 000 draws may put a quantile one unit aside
    assert newsvendor_cost(demand, plan.size, short, waste) <= 1.02 * newsvendor_cost(demand, best, short, waste)


def test_with_running_out_a_hundred_times_as_dear_as_waste_it_makes_the_99_percent_quantile() -> None:
    demand = poisson(5)  # of which 11 are enough in 99.45 %, and 10 in 98.63 %
    costs = Costs(waste=1.0, short=99.0, making=0.0)
    sizes = []
    for seed in range(8):
        use = demand.rvs(size=(2000, 1), random_state=seed).astype(float)
        sizes.append(making_plan([], use, keeps=1, next_making=1, step=1.0, costs=costs).size)
    assert demand.ppf(0.99) == np.median(sizes) == 11
    assert min(sizes) >= 10


def test_what_can_be_made_on_the_next_day_as_well_is_not_made_today() -> None:
    use = 20.0 * poisson(10).rvs(size=(1000, 28), random_state=2)
    costs = Costs(waste=0.01, short=0.2, making=5.0)
    lasts = making_plan([Lot(amount=500, days=9)], use, keeps=10, next_making=1, step=500.0, costs=costs)
    assert (lasts.size, lasts.saves) == (0, 0)
    short = making_plan([Lot(amount=150, days=9)], use, keeps=10, next_making=1, step=500.0, costs=costs)
    assert short.size > 0
    assert 0 < short.saves <= short.cost[0] - min(short.cost) + 1e-9


def test_a_forecast_from_twelve_weeks_still_costs_within_two_percent() -> None:
    demand = nbinom(8, 8 / 48)  # mean 40
    excess = []
    for seed in range(8):
        seen = demand.rvs(size=84, random_state=seed)
        mean, variance = seen.mean(), seen.var(ddof=1)
        fitted = nbinom(mean**2 / (variance - mean), mean / variance)
        use = fitted.rvs(size=(2000, 1), random_state=seed).astype(float)
        plan = making_plan([], use, keeps=1, next_making=1, step=1.0, costs=Costs(waste=1.0, short=4.0, making=0.0))
        least = newsvendor_cost(demand, demand.ppf(4 / 5), 4, 1)
        excess.append(newsvendor_cost(demand, plan.size, 4, 1) / least - 1)
    assert np.mean(excess) < 0.02


def test_nothing_is_made_when_there_is_enough_and_something_when_there_is_not() -> None:
    use = 20.0 * poisson(10).rvs(size=(400, 28), random_state=2)
    costs = Costs(waste=0.01, short=0.2, making=5.0)
    enough = making_plan(
        [Lot(amount=700, days=3), Lot(amount=900, days=9)], use, keeps=10, next_making=1, step=500.0, costs=costs
    )
    assert enough.size == 0
    assert enough.chance_short < 0.01
    little = making_plan([Lot(amount=100, days=3)], use, keeps=10, next_making=1, step=500.0, costs=costs)
    assert little.size > 0
    assert little.chance_short > 0.9
    assert little.cost[0] > min(little.cost)


def test_what_is_past_its_use_by_does_not_count() -> None:
    use = 20.0 * poisson(10).rvs(size=(400, 28), random_state=2)
    costs = Costs(waste=0.01, short=0.2, making=5.0)
    gone = making_plan([Lot(amount=5000, days=0)], use, keeps=10, next_making=1, step=500.0, costs=costs)
    assert gone.size > 0


def test_no_more_is_made_at_a_time_than_can_be_unless_the_use_asks_for_it() -> None:
    use = 20.0 * poisson(10).rvs(size=(400, 42), random_state=2)
    costs = Costs(waste=0.001, short=0.2, making=50.0)
    assert making_plan([], use, keeps=14, next_making=1, step=500.0, costs=costs).size >= 1500
    assert making_plan([], use, keeps=14, next_making=1, step=500.0, costs=costs, most=1000.0).size == 1000
    assert making_plan([], use, keeps=14, next_making=7, step=500.0, costs=costs, most=1000.0).size >= 1500


def test_no_use_means_no_making() -> None:
    plan = making_plan(
        [], np.zeros((50, 28)), keeps=10, next_making=1, step=500.0, costs=Costs(waste=0.01, short=0.2, making=5.0)
    )
    assert plan.size == 0
    assert plan.chance_short == 0


@settings(deadline=None, max_examples=40)
@given(
    st.lists(st.tuples(st.integers(0, 60), st.integers(0, 6)), max_size=4),
    st.lists(st.integers(0, 40), min_size=1, max_size=8),
)
def test_what_is_missing_is_what_a_loop_finds(lots: list[tuple[int, int]], wanted: list[int]) -> None:
    stock = _stock([Lot(amount=float(amount), days=days) for amount, days in lots], 1)
    shelf = sorted([float(days), float(amount)] for amount, days in lots if days > 0)
    missing = 0.0
    for use in wanted:
        rest = float(use)
        for lot in shelf:
            taken = min(lot[1], rest)
            lot[1] -= taken
            rest -= taken
        missing += rest
        for lot in shelf:
            lot[0] -= 1
        shelf = [lot for lot in shelf if lot[0] > 0]
    assert _missing(stock, np.array([wanted], dtype=float)).tolist() == pytest.approx([missing])
