"""How to go on making something: against dynamic programming over every state, and against pairs searched for."""

from itertools import product

import numpy as np
import pytest
from scipy.stats import nbinom

from stillroom.analysis.batches.making_way import Costs, MakingDays, follow, making_way

WEEK = np.array((0.6, 0.7, 0.8, 1.0, 1.6, 1.8, 0.5))


def serves(mean: float, size: float, days: int, number: int, seed: int) -> np.ndarray:
    means = mean * WEEK[np.arange(days) % 7]
    return nbinom(size, size / (size + means)).rvs(size=(number, days), random_state=seed).astype(float)


def least_of_two_days(mean: float, size: float, sizes: range, costs: Costs) -> float:
    """Money a week of the best there is with a keep of two days: value iteration over all that can be left over.

    Puterman, Markov Decision Processes (1994), section 8.5; the bounds of its change enclose the optimum.
    """
    most = max(sizes)
    chances = [nbinom(size, size / (size + m)).pmf(np.arange(most + 40)) for m in mean * WEEK]
    left, made, wanted = np.arange(most + 1)[:, None, None], np.array(sizes)[None, :, None], np.arange(most + 40)
    wasted, beyond = np.maximum(left - wanted, 0), np.maximum(wanted - left, 0)
    short, after = np.maximum(beyond - made, 0), np.maximum(made - beyond, 0)
    now = costs.waste * wasted + costs.short * short + costs.making * (made > 0)
    value = np.zeros(most + 1)
    for _ in range(30):
        before = value.copy()
        for chance in reversed(chances):
            value = ((now + value[after]) @ chance).min(axis=1)
        change = value - before
        if np.ptp(change) < 1e-3:
            break
        value = value - value[0]
    assert np.ptp(change) < 1e-3
    return float(change.mean())


@pytest.mark.parametrize(("mean", "size", "step"), [(8, 5, 4), (6, 3, 3)])
def test_of_what_keeps_two_days_it_costs_what_the_optimum_does(mean: float, size: float, step: int) -> None:
    costs = Costs(waste=0.5, short=4.0, making=3.0)
    least = least_of_two_days(mean, size, range(0, 49, step), costs)
    known = {"keeps": 2, "next_making": 1, "step": float(step), "most": 48.0, "costs": costs}
    way = making_way(MakingDays(use=serves(mean, size, 28, 4000, 1), **known))
    found = follow(MakingDays(use=serves(mean, size, 28, 4000, 2), **known), way)
    money = costs.waste * found.wasted + costs.short * found.short + costs.making * found.makings
    error = money.std() / np.sqrt(len(money)) / 4
    assert least - 3 * error <= money.mean() / 4 <= 1.01 * least + 2 * error


@pytest.mark.parametrize(
    ("keeps", "next_making", "costs"),
    [
        (5, 1, Costs(waste=0.3, short=5.0, making=6.0)),
        (10, 3, Costs(waste=0.4, short=3.0, making=4.0)),
        (14, 1, Costs(waste=0.6, short=8.0, making=5.0)),
    ],
)
def test_of_what_keeps_longer_it_costs_no_more_than_the_best_of_many_pairs(
    keeps: int, next_making: int, costs: Costs
) -> None:
    """Make up to S when less than s is there: the pair is chosen on the very use that both are judged by."""
    use = serves(4, 4, 42, 300, 3)
    days = MakingDays(use=use, keeps=keeps, next_making=next_making, step=10.0, most=60.0, costs=costs)
    found = follow(days, making_way(days))
    mine = costs.waste * found.wasted + costs.short * found.short + costs.making * found.makings
    pairs = [pair for pair in product(range(2, 30, 3), range(8, 60, 4)) if pair[0] <= pair[1]]
    best = min(pair_cost(days, *pair) for pair in pairs)
    assert mine.mean() <= 1.01 * best


def pair_cost(days: MakingDays, low: float, high: float) -> float:
    """Money over the second of two rounds of the days, by a plain loop over lots, oldest first."""
    costs, total = days.costs, 0.0
    lots = np.zeros((days.keeps, len(days.use)))
    for number in range(2 * days.use.shape[1]):
        day = number % days.use.shape[1]
        made = np.zeros(len(days.use))
        if day % days.next_making == 0:
            there = lots.sum(axis=0)
            made = np.where(there < low, np.maximum(np.ceil((high - there) / days.step), 1) * days.step, 0.0)
        lots[-1] += made
        short = days.use[:, day].copy()
        for lot in lots:
            taken = np.minimum(lot, short)
            lot -= taken
            short -= taken
        if number >= days.use.shape[1]:
            total += float((costs.making * (made > 0) + costs.short * short + costs.waste * lots[0]).mean())
        lots = np.concatenate([lots[1:], np.zeros((1, len(days.use)))])
    return total


def test_days_that_share_their_luck_ask_for_more_on_hand() -> None:
    """Made once a week: where a week is good or bad as a whole, as much a day strays further in the sum."""
    costs = Costs(waste=0.2, short=5.0, making=1.0)
    alone = serves(10, 20, 28, 1000, 5)
    luck = np.random.default_rng(6).choice([0.5, 1.5], size=(1000, 1))
    bottles = []
    for use in (alone, alone * luck):
        known = {"use": use, "keeps": 10, "next_making": 7, "step": 5.0, "most": 200.0, "costs": costs}
        days = MakingDays(**known)
        bottles.append(making_way(days).sizes[0, 0, 0])
    assert bottles[1] > 1.1 * bottles[0]
