"""What to make today of something that keeps for some days: the size that costs least, by simulation.

The perishable newsvendor with several periods: use is drawn from the forecast, the oldest is used first, what is past
its use-by is lost, and on every making day a batch is made if what is there will likely not last until the next one.
Three costs are weighed: what is lost to waste, what is lost to running out, and the work of a making. First the steady
way (from how little on, and how much each time) that costs least over the days ahead is found on a grid; then today's
making, from nothing to the largest size, with that way from the next making day on (a rollout, Bertsekas, Dynamic
Programming and Optimal Control, ch. 6). With a keep of one day that is the newsvendor's critical-ratio optimum.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

LONGEST_KEEP: Final = 42
"""Usable days that are told apart; a batch that keeps longer is taken to keep this long."""
COVERS: Final = (0.6, 0.8, 0.9, 0.97)
"""Chances of lasting until the next making day from which no batch is made."""
MOST_SIZES: Final = 14
GRID_DRAWS: Final = 200
FINALISTS: Final = 6


@dataclass(frozen=True, kw_only=True)
class Costs:
    """What it costs, in money."""

    waste: float
    """A unit thrown away."""
    short: float
    """A unit wanted and not there."""
    making: float
    """The work of making a batch, whatever its size."""


@dataclass(frozen=True, kw_only=True)
class Lot:
    """Something on hand."""

    amount: float
    days: int
    """Days it may still be used, today included; 0 = past its use-by."""


@dataclass(frozen=True, kw_only=True)
class MakingPlan:
    """Today's making and what it rests on. Amounts in the preparation's unit, money over the days looked at."""

    size: float
    """How much to make today; 0 = nothing."""
    steady_size: float
    """What a making is of, in the way that costs least from day to day."""
    expected_use: float
    use_low: float
    use_high: float
    """Use until the next making day, with its 80 % interval."""
    chance_short: float
    """That what is on hand runs out before the next making day."""
    chance_waste: float
    """That some of what is on hand passes its use-by, if nothing is made before."""
    wasted: float
    """How much of it, on average."""
    sizes: tuple[float, ...]
    cost: tuple[float, ...]
    """Mean cost of making each size today."""


def sizes_up_to(need: float, step: float) -> tuple[float, ...]:
    """Sizes to choose from: multiples of `step`, up to the first that covers `need`, at most `MOST_SIZES` of them.

    >>> sizes_up_to(1000, 400)
    (400.0, 800.0, 1200.0)
    """
    most = max(1, int(np.ceil(need / step - 1e-9)))
    numbers = np.unique(np.round(np.linspace(1, most, min(most, MOST_SIZES))).astype(int))
    return tuple(float(number * step) for number in numbers)


def making_plan(
    lots: Sequence[Lot], use: np.ndarray, keeps: int, next_making: int, step: float, costs: Costs
) -> MakingPlan:
    """Choose today's making.

    Args:
        lots: what is on hand.
        use: draws by days of the use to come, today first.
        keeps: days a batch made today may be used, today included, at least 1.
        next_making: days from one making day to the next, at least 1.
        step: the smallest part of a making that may be made, in units.
        costs: what waste, running out and work cost.
    """
    keeps = min(max(1, keeps), LONGEST_KEEP)
    until_next = use[:, :next_making].sum(axis=1)
    span = use[:, :keeps].sum(axis=1)
    sizes = sizes_up_to(max(float(np.quantile(span, 0.99)), float(np.quantile(until_next, 0.99))), step)
    floors = np.array([_floor(use, next_making, cover) for cover in COVERS])
    floor, steady = _steady(use, keeps, next_making, sizes, floors, costs)
    today = np.array([0.0, *sizes])
    cost = _cost(_stock(lots, keeps), use, keeps, next_making, today, np.full(len(today), steady), floor, costs)
    best = int(np.argmin(cost))
    left, lost = _left_alone(_stock(lots, keeps), use)
    return MakingPlan(
        size=float(today[best]),
        steady_size=steady,
        expected_use=float(until_next.mean()),
        use_low=float(np.quantile(until_next, 0.1)),
        use_high=float(np.quantile(until_next, 0.9)),
        chance_short=float((lost[:, :next_making].sum(axis=1) > 1e-9).mean()),
        chance_waste=float((left > 1e-9).mean()),
        wasted=float(left.mean()),
        sizes=tuple(today.tolist()),
        cost=tuple(cost.tolist()),
    )


def _floor(use: np.ndarray, next_making: int, cover: float) -> np.ndarray:
    """For every day, the stock that covers the use until the next making day with this chance."""
    days = use.shape[1]
    total = np.concatenate([np.zeros((len(use), 1)), use.cumsum(axis=1)], axis=1)
    ends = np.minimum(np.arange(days) + next_making, days)
    return np.asarray(np.quantile(total[:, ends] - total[:, :days], cover, axis=0))


def _steady(
    use: np.ndarray, keeps: int, next_making: int, sizes: Sequence[float], floors: np.ndarray, costs: Costs
) -> tuple[np.ndarray, float]:
    """The floor (by day) and size that cost least from an empty shelf over the days ahead.

    The whole grid is tried on some of the draws, the few best on all.
    """
    empty = np.zeros(keeps)
    size = np.array(sizes)
    few = use[:GRID_DRAWS]
    grid = np.array([_cost(empty, few, keeps, next_making, size, size, floor, costs) for floor in floors])
    best: tuple[float, int, int] = (np.inf, 0, 0)
    for cell in np.argsort(grid, axis=None)[:FINALISTS]:
        row, column = divmod(int(cell), len(size))
        one = size[column : column + 1]
        cost = float(_cost(empty, use, keeps, next_making, one, one, floors[row], costs)[0])
        best = min(best, (cost, row, column))
    return floors[best[1]], float(size[best[2]])


def _stock(lots: Sequence[Lot], keeps: int) -> np.ndarray:
    """Amounts by days they may still be used: place 0 is today only."""
    stock = np.zeros(max([keeps, *(lot.days for lot in lots)]))
    for lot in lots:
        if lot.days > 0:
            stock[lot.days - 1] += lot.amount
    return stock[:LONGEST_KEEP] if len(stock) <= LONGEST_KEEP else _folded(stock)


def _folded(stock: np.ndarray) -> np.ndarray:
    """What keeps longer than is told apart, put with what keeps just so long."""
    folded = stock[:LONGEST_KEEP].copy()
    folded[-1] += stock[LONGEST_KEEP:].sum()
    return folded


def _cost(
    stock: np.ndarray,
    use: np.ndarray,
    keeps: int,
    next_making: int,
    first: np.ndarray,
    later: np.ndarray,
    floor: np.ndarray,
    costs: Costs,
) -> np.ndarray:
    """Mean cost of each pair of a first and a later size over the days of `use`.

    What is left at the end counts as waste as far as use at the mean rate would leave it to pass its use-by, and saves
    its part of a later making's work for the rest.
    """
    draws, days = use.shape
    width = max(len(stock), keeps)
    shelf = np.zeros((len(first), draws, width))
    shelf[:, :, : len(stock)] = stock
    total = np.zeros((len(first), draws))
    for day in range(days):
        if day % next_making == 0:
            if day == 0:
                made = np.broadcast_to(first[:, None], total.shape)
            else:
                made = np.where(shelf.sum(axis=2) < floor[day], later[:, None], 0.0)
            shelf[:, :, keeps - 1] += made
            total += costs.making * (made > 0)
        shelf, short = _used(shelf, use[None, :, day])
        total += costs.short * short + costs.waste * shelf[:, :, 0]
        shelf = np.concatenate([shelf[:, :, 1:], np.zeros((*shelf.shape[:2], 1))], axis=2)
    over = np.maximum((shelf.cumsum(axis=2) - use.mean() * np.arange(1, width + 1)).max(axis=2), 0.0)
    total += costs.waste * over - costs.making * (shelf.sum(axis=2) - over) / later[:, None]
    return np.asarray(total.mean(axis=1))


def _used(shelf: np.ndarray, wanted: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Take what is wanted, oldest first; what is then left, and what was not there."""
    through = np.cumsum(shelf, axis=-1)
    left = np.maximum(through - wanted[..., None], 0.0)
    return np.diff(left, axis=-1, prepend=0.0), np.maximum(wanted - through[..., -1], 0.0)


def _left_alone(stock: np.ndarray, use: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """With nothing made: what of the stock passes its use-by, per draw, and what is missing, draws by days."""
    shelf = np.broadcast_to(stock, (len(use), len(stock)))
    wasted = np.zeros(len(use))
    short = np.zeros(use.shape)
    for day in range(use.shape[1]):
        shelf, short[:, day] = _used(shelf, use[:, day])
        wasted += shelf[:, 0]
        shelf = np.concatenate([shelf[:, 1:], np.zeros((len(use), 1))], axis=1)
    return wasted, short
