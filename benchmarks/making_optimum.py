"""What making costs at best: dynamic programming where the state is small, else the best (s, S) pair there is.

A case is one preparation, in serves. A shelf holds amounts by days left, today's first; a second axis holds ways to
decide side by side.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import product

import numpy as np
from scipy.stats import nbinom

DAYS = 7
Decide = Callable[[int, np.ndarray], np.ndarray]
"""Day and shelf in the morning -> how much each way makes."""


@dataclass(frozen=True, kw_only=True)
class Case:
    """What is used of a preparation, how it is made, and what it costs."""

    name: str
    week: tuple[float, ...]
    """Mean serves of each weekday."""
    size: float
    """Of the negative binomial: the smaller, the more a day's serves vary."""
    keeps: int
    next_making: int = 1
    step: int
    most: int
    waste: float
    short: float
    making: float

    def draws(self, days: int, number: int, seed: int, first: int = 0) -> np.ndarray:
        """Draws by days of its serves, from a weekday on."""
        mean = np.array([self.week[(first + day) % DAYS] for day in range(days)])
        generator = np.random.default_rng([seed, first])
        drawn = generator.negative_binomial(self.size, self.size / (self.size + mean + 1e-9), size=(number, days))
        return np.asarray(np.where(mean > 0, drawn, 0))

    def chances(self, weekday: int) -> np.ndarray:
        """Probability of each number of serves on a weekday; the last takes all beyond it."""
        mean = self.week[weekday]
        if mean == 0:
            return np.ones(1)
        demand = nbinom(self.size, self.size / (self.size + mean))
        chance = demand.pmf(np.arange(int(demand.isf(1e-6)) + 1))
        return np.asarray(chance / chance.sum())


def cost_of(case: Case, demand: Sequence[float], decide: Decide, ways: int = 1) -> np.ndarray:
    """Money that each way spends over the days of a demand."""
    shelf, total = np.zeros((case.keeps, ways)), np.zeros(ways)
    for day, wanted in enumerate(demand):
        if day % case.next_making == 0:
            made = decide(day, shelf)
            shelf[-1] += made
            total += case.making * (made > 0)
        short = np.full(ways, float(wanted))
        for amount in shelf:
            taken = np.minimum(amount, short)
            amount -= taken
            short -= taken
        total += case.short * short + case.waste * shelf[0]
        shelf[:-1], shelf[-1] = shelf[1:].copy(), 0.0
    return total


def pair_way(case: Case, low: np.ndarray, high: np.ndarray) -> Decide:
    """(s, S) pairs as ways to decide: make up to S, at least a step, when less than s is there."""

    def decide(day: int, shelf: np.ndarray) -> np.ndarray:
        there = shelf.sum(axis=0)
        makings = np.clip(np.ceil((high - there) / case.step - 1e-9), 1, case.most // case.step)
        return np.where(there < low, makings * case.step, 0.0)

    return decide


def best_pair(case: Case, demand: Sequence[float]) -> tuple[float, float, float]:
    """The (s, S) pair that costs least on this very demand, and its cost: make up to S when less than s is there."""
    whole = max(case.keeps, case.next_making) * max(case.week) * 1.3 + case.step
    levels = np.unique(np.linspace(0, whole, 40).round())
    pairs = np.array([(low, high) for low, high in product(levels, levels) if low <= high])
    cost = cost_of(case, demand, pair_way(case, *pairs.T), len(pairs))
    best = int(np.argmin(cost))
    return (*map(float, pairs[best]), float(cost[best]))


class Optimum:
    """The way that costs least in the long run, found by value iteration over amounts by days left and weekdays.

    Of what is made every day and keeps for one to three days.
    """

    def __init__(self, case: Case) -> None:
        self._case = case
        self._shape = (case.most + 1,) * (case.keeps - 1)
        self._sizes = np.arange(0, case.most + 1, case.step)

    @cached_property
    def _policy(self) -> list[np.ndarray]:
        """By weekday: the best size of every state (amounts there in the morning, oldest first)."""
        value, policies = np.zeros(self._shape), [np.zeros(self._shape, dtype=int)] * DAYS
        steps = [self._step(day) for day in range(DAYS)]
        for _ in range(200):
            before = value.copy()
            for day in reversed(range(DAYS)):
                costs = np.array([now + self._expected(value, after, chance) for now, after, chance in steps[day]])
                policies[day], value = costs.argmin(axis=0), costs.min(axis=0)
            gain = value - before
            value = value - value.flat[0]
            if np.ptp(gain) < 1e-4 * gain.max():
                break
        return policies

    def _step(self, day: int) -> list[tuple[np.ndarray, list[tuple[np.ndarray, ...]], np.ndarray]]:
        """Per size made: expected cost of the day in each state, the states after each demand, and their chances."""
        case, chance = self._case, self._case.chances(day)
        there = np.indices(self._shape).astype(float)
        told = []
        for size in self._sizes:
            cost = np.full(there.shape[1:], case.making if size > 0 else 0.0, dtype=float)
            after = []
            for wanted, probability in enumerate(chance):
                shelf = [*(amount.copy() for amount in there), np.full(there.shape[1:], float(size))]
                short = np.full(there.shape[1:], float(wanted))
                for amount in shelf:
                    taken = np.minimum(amount, short)
                    amount -= taken
                    short -= taken
                cost += probability * case.short * short
                cost += probability * case.waste * shelf[0]
                after.append(tuple(amount.astype(int) for amount in shelf[1:]))
            told.append((cost, after, chance))
        return told

    @staticmethod
    def _expected(value: np.ndarray, after: list[tuple[np.ndarray, ...]], chance: np.ndarray) -> np.ndarray:
        return np.asarray(sum(p * value[state] for p, state in zip(chance, after, strict=True)))

    def decide(self, day: int, shelf: np.ndarray) -> np.ndarray:
        """What it makes on a day of the simulation."""
        state = tuple(amount.astype(int) for amount in shelf[:-1])
        return np.asarray(self._sizes[self._policy[day % DAYS][state]], dtype=float)
