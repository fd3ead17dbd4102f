"""Amounts that meet aims, against hand-worked blends and against trying all."""

from __future__ import annotations

from itertools import product

import numpy as np
import pytest

from stillroom.analysis.bench.aims import miss, reached, read_aim
from stillroom.analysis.bench.solving import Found, Part, missed, solve
from stillroom.analysis.specs.contents import Contents
from stillroom.analysis.specs.liquids import ETHANOL_DENSITY, WATER_DENSITY

SUGAR = Contents(sugar_g=1.0)  # 1 g
WATER = Contents(water_g=WATER_DENSITY)  # 1 ml
CITRIC = Contents(acid_g=1.0)  # 1 g
ETHANOL = Contents(alcohol_g=ETHANOL_DENSITY)  # 1 ml
NONE = Contents()


class Mixture:
    """Parts with what one base unit of each holds; what stands still is `fixed`."""

    def __init__(self, fixed: Contents = NONE) -> None:
        self.parts: list[Part] = []
        self.each: list[Contents] = []
        self.fixed = fixed

    def add(self, item, each, today, low=0.0, high=10_000.0, step=1.0, unit_cost=0.0):
        self.parts.append(Part(item=item, today=today, low=low, high=high, step=step, unit_cost=unit_cost))
        self.each.append(each)
        return self

    def contents(self, amounts) -> Contents:
        total = self.fixed
        for amount, each in zip(amounts, self.each, strict=True):
            total = total + each.times(float(amount))
        return total

    def cost(self, amounts) -> float:
        return float(sum(part.unit_cost * amount for part, amount in zip(self.parts, amounts, strict=True)))

    def misses(self, aims):
        return lambda amounts: np.array([miss(a, self.contents(amounts), self.cost(amounts), 1.0) for a in aims])

    def solve(self, *texts, prefer="near") -> Found:
        aims = [read_aim(text) for text in texts]
        return solve(self.parts, aims, self.misses(aims), prefer)

    def reached(self, text, amounts) -> float:
        found = reached(read_aim(text), self.contents(amounts), self.cost(amounts), 1.0)
        assert found is not None
        return found


def syrup() -> Mixture:
    mixture = Mixture()
    mixture.add("sugar", SUGAR, 600, step=5, unit_cost=0.0015)
    mixture.add("water", WATER, 700, step=5)
    return mixture.add("citric acid", CITRIC, 8, step=1, unit_cost=0.012)


@pytest.mark.parametrize(("high", "low", "wanted"), [(65.0, 0.0, 40.0), (70.0, 20.0, 50.0), (30.0, 10.0, 12.5)])
def test_two_syrups_are_blended_as_the_pearson_square_says(high, low, wanted):
    # Pearson square (hand-worked, a textbook rule of blending by mass): parts of the strong one to parts of the weak
    # one are as (wanted - low) to (high - wanted).
    def brix(share):
        return Contents(sugar_g=share / 100, water_g=1 - share / 100)

    mixture = Mixture().add("strong", brix(high), 500).add("weak", brix(low), 500)
    strong, weak = mixture.solve(f"brix={wanted}").exact
    assert strong / weak == pytest.approx((wanted - low) / (high - wanted), rel=1e-6)


def test_sugar_and_acid_in_water_by_hand():
    # 40 g of sugar and 1.1 g of acid in 100 g leave 58.9 g of water; by hand.
    found = syrup().solve("brix=40", "acid=1.1 %")
    sugar, water, citric = found.exact
    assert sugar / citric == pytest.approx(40 / 1.1, rel=1e-6)
    assert sugar / (water * WATER_DENSITY) == pytest.approx(40 / 58.9, rel=1e-6)
    assert found.at_odds == ()


def test_strength_is_met_with_contraction():
    # OIML R 22: 50 ml of ethanol made up to 100 ml is 50 % vol; it takes 53.65 ml of water, not 50 (table IV b: 50 %
    # vol weighs 0.93014 g/ml at 20 °C, so 93.014 g - 39.45 g of ethanol = 53.57 g of water; from memory).
    mixture = Mixture().add("ethanol", ETHANOL, 50, low=50, high=50).add("water", WATER, 10, step=0.01)
    _, water = mixture.solve("strength=50 %").exact
    assert water == pytest.approx(53.57 / WATER_DENSITY, abs=0.05)


def test_what_can_be_had_is_had_and_cheapest():
    # Two sources of sugar of which one costs half; by hand: all of it comes from the cheap one, up to its bound.
    mixture = Mixture().add("dear", SUGAR, 0, unit_cost=0.004).add("cheap", SUGAR, 300, high=350, unit_cost=0.002)
    mixture.add("water", WATER, 600, low=600, high=600)
    dear, cheap, water = mixture.solve("brix=40", prefer="cheap").exact
    assert cheap == pytest.approx(350)
    assert dear + cheap == pytest.approx(water * WATER_DENSITY * 40 / 60, rel=1e-6)


def test_near_changes_as_little_as_it_must():
    sugar, water, citric = syrup().solve("acid=1.1 %").exact
    assert (sugar, water) == (600, 700)
    assert citric == pytest.approx(1.1 / 98.9 * (600 + 700 * WATER_DENSITY), rel=1e-6)


def test_aims_that_exclude_one_another_are_named_and_no_others():
    found = syrup().solve("brix=40", "brix=50", "acid=1.1 %")
    assert {aim.text for aim in found.at_odds} == {"brix=40", "brix=50"}
    assert syrup().reached("acid=1 %", found.exact) == pytest.approx(1.1, rel=1e-4)
    assert 40 - 1e-6 <= syrup().reached("brix=0", found.exact) <= 50 + 1e-6


def test_an_aim_that_nothing_serves_is_at_odds_alone():
    found = syrup().solve("strength=18 %", "brix=40")
    assert [aim.text for aim in found.at_odds] == ["strength=18 %"]
    assert syrup().reached("brix=0", found.exact) == pytest.approx(40, rel=1e-4)


def test_at_most_and_at_least_hold_only_where_they_bind():
    free = syrup().solve("cost<=5/making", "brix>=10")
    assert free.exact == (600, 700, 8)
    bound = syrup().solve("cost<=0.6/making")
    assert syrup().cost(bound.exact) == pytest.approx(0.6, rel=1e-6)


@pytest.mark.parametrize("seed", range(12))
def test_whole_steps_miss_no_more_than_the_best_of_all_near_by(seed):
    """Brute force: every combination of whole steps within reach, by the very aims and not by their slopes."""
    rng = np.random.default_rng(seed)
    mixture = Mixture(fixed=Contents(water_g=float(rng.uniform(0, 300)), sugar_g=float(rng.uniform(0, 50))))
    mixture.add("sugar", SUGAR, float(rng.uniform(100, 500)), step=float(rng.choice([1, 5, 10])))
    mixture.add("water", WATER, float(rng.uniform(200, 800)), step=float(rng.choice([5, 10, 25])))
    mixture.add("citric acid", CITRIC, float(rng.uniform(2, 12)), step=float(rng.choice([0.5, 1.0])))
    texts = [f"brix={rng.uniform(20, 55):.1f}", f"acid={rng.uniform(0.4, 1.5):.2f} %"]
    aims = [read_aim(text) for text in texts]
    found = mixture.solve(*texts)
    assert found.at_odds == ()

    def price(amounts):
        exact = np.array(found.exact)
        per = 1 / np.maximum(exact, exact.max() / 20)
        missing = missed(aims, mixture.misses(aims)(amounts)).sum()
        return missing + 0.1 * float(np.sum(np.abs(amounts - exact) * per))

    around = [[part.step * (round(exact / part.step) + k) for k in range(-3, 4)] for part, exact in
              zip(mixture.parts, found.exact, strict=True)]  # fmt: skip
    best = min(price(np.array(one)) for one in product(*around))
    assert price(np.array(found.measured)) <= best + 1e-4
    for part, amount in zip(mixture.parts, found.measured, strict=True):
        assert amount / part.step == pytest.approx(round(amount / part.step))


@pytest.mark.parametrize("seed", range(8))
def test_cheapest_is_as_cheap_as_the_best_of_a_fine_grid(seed):
    """Brute force: three sweeteners with sugar and cost of their own; no point of the grid is cheaper."""
    rng = np.random.default_rng(100 + seed)
    mixture = Mixture(fixed=Contents(water_g=500.0))
    for name in ("one", "two", "three"):
        sugar = float(rng.uniform(0.3, 1.0))
        each = Contents(sugar_g=sugar, water_g=1 - sugar)
        mixture.add(name, each, 50.0, high=400.0, unit_cost=float(rng.uniform(0.001, 0.01)))
    wanted = float(rng.uniform(10, 30))
    found = mixture.solve(f"brix>={wanted:.3f}", prefer="cheap")
    grid = np.linspace(0, 400, 17)
    cheapest = min(
        mixture.cost(one) for one in product(grid, repeat=3) if mixture.reached("brix=0", one) >= round(wanted, 3)
    )
    assert mixture.reached("brix=0", found.exact) >= round(wanted, 3) - 1e-4
    assert mixture.cost(found.exact) <= cheapest + 1e-6


def test_bounds_between_which_no_whole_step_lies_leave_the_exact_amount():
    mixture = (
        Mixture().add("sugar", SUGAR, 12.2, low=12.1, high=12.4, step=5).add("water", WATER, 100, low=100, high=100)
    )
    assert mixture.solve("brix=11").measured[0] == pytest.approx(mixture.solve("brix=11").exact[0])
