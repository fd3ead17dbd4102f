"""What to make today of something that keeps for some days: the size that costs least, by simulation.

The perishable newsvendor with several periods: use is drawn from the forecast, the oldest is used first, what is past
its use-by is lost, and on every making day a batch may be made. Three costs are weighed: what is lost to waste, what is
lost to running out, and the work of each time something is made. First a steady way is found on a grid: make when what
is there covers the use until the next making day with too small a chance, and then as much as covers some days more.
Then today's making is chosen, from nothing to the largest size, with that way from the next making day on (a rollout:
Bertsekas, Dynamic Programming and Optimal Control, ch. 6). What may as well be made on the next making day is not made
today: each size is tried on that day, too. With a keep of one day that is the newsvendor's
critical-ratio optimum.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from stillroom.analysis.batches.shelf import Shelf

LONGEST_KEEP: Final = 28
"""Usable days that are told apart; a batch that keeps longer is taken to keep this long."""
FLOORS: Final = (0.6, 0.8, 0.9, 0.96, 0.99)
"""Chances of lasting until the next making day below which something is made."""
COVERS: Final = (0.5, 0.7, 0.85, 0.95)
"""Chances of lasting the days a making is meant to cover."""
MOST_SPANS: Final = 6
MOST_SIZES: Final = 14
TRIFLE: Final = 0.02
"""Of the work of a making: what saves less is not made today. An assumption."""
FULL: Final = 0.99
"""Chance of having enough that is looked at in any case."""
GRID_DRAWS: Final = 80
FINALISTS: Final = 10
WEEK: Final = 7
SHORT_KEEP: Final = 5
"""Days of keep up to which the way is tuned to the days of the week: what keeps longer, covers more of them anyway."""
TUNING_DRAWS: Final = 300
TUNING_ROUNDS: Final = 6
DRAWS: Final = 800
"""Draws that are looked at of what keeps beyond the next making day: then no rare day decides by itself."""


@dataclass(frozen=True, kw_only=True)
class Costs:
    """What it costs, in money."""

    waste: float
    """A unit thrown away."""
    short: float
    """A unit wanted and not there."""
    making: float
    """The work of each time something is made, whatever its size."""
    short_now: float | None = None
    """A unit wanted before the next making day and not there, where that is another sum."""
    making_now: float = 0.0
    """Work that a making today asks for besides: of what has to be made for it first."""


@dataclass(frozen=True, kw_only=True)
class Lot:
    """Something on hand."""

    amount: float
    days: int
    """Days it may still be used, today included; 0 = past its use-by."""


@dataclass(frozen=True, kw_only=True)
class SteadyWay:
    """A way to decide on each making day."""

    floor: np.ndarray
    """By day: make when less than this is there that will be used in time."""
    up_to: np.ndarray
    """By day: make as much as brings it up to this."""
    usual: float
    """Size of its makings, about: what is left and good at the end saves that part of one."""


@dataclass(frozen=True, kw_only=True)
class MakingPlan:
    """Today's making and what it rests on. Amounts in the preparation's unit, money over the days looked at."""

    size: float
    """How much to make today; 0 = nothing."""
    steady: SteadyWay
    expected_use: float
    """Until the next making day."""
    chance_short: float
    """That what is on hand runs out before the next making day."""
    sizes: tuple[float, ...]
    cost: tuple[float, ...]
    """Mean cost of making each size today."""
    saves: float
    """What today's making saves against the best that can be done without; 0 where nothing is made."""


def sizes_up_to(need: float, step: float) -> tuple[float, ...]:
    """Sizes to choose from: multiples of `step`, up to the first that covers `need`, at most `MOST_SIZES` of them.

    >>> sizes_up_to(1000, 400)
    (400.0, 800.0, 1200.0)
    """
    most = max(1, int(np.ceil(need / step - 1e-9)))
    numbers = np.unique(np.round(np.linspace(1, most, min(most, MOST_SIZES))).astype(int))
    return tuple(float(number * step) for number in numbers)


def making_plan(
    lots: Sequence[Lot],
    use: np.ndarray,
    *,
    keeps: int,
    next_making: int,
    step: float,
    costs: Costs,
    most: float = float("inf"),
) -> MakingPlan:
    """Choose today's making.

    Args:
        lots: what is on hand.
        use: draws by days of the use to come, today first.
        keeps: days a batch made today may be used, today included, at least 1.
        next_making: days from one making day to the next, at least 1.
        step: the smallest part of a making that may be made, in units.
        costs: what waste, running out and work cost.
        most: the most that is made at a time; raised to what the use until the next making day can ask for.
    """
    keeps = min(max(1, keeps), LONGEST_KEEP)
    use = use if keeps <= next_making else use[:DRAWS]
    until_next = use[:, :next_making].sum(axis=1)
    # The chance of having enough that is worth its waste, were this the only making: no more is ever wanted than that
    # asks for, with room for what the draws do not show.
    ratio = min(max(costs.short / max(costs.short + costs.waste, 1e-12), FULL), 1.0 - 1.0 / len(use))
    most = max(most, float(np.quantile(until_next, ratio)))
    house = MakingDays(use=use, keeps=keeps, next_making=next_making, step=step, most=most, costs=costs)
    steady = steady_way(house)
    today = np.array([0.0, *sizes_up_to(min(most, float(np.quantile(use[:, :keeps].sum(axis=1), ratio))), step)])
    stock = _stock(lots, keeps)
    cost = house.cost(stock, today, [steady] * len(today)).mean(axis=1)
    finer = _finer(today, int(np.argmin(cost)), step)
    if len(finer):
        order = np.argsort(np.concatenate([today, finer]))
        cost = np.concatenate([cost, house.cost(stock, finer, [steady] * len(finer)).mean(axis=1)])[order]
        today = np.concatenate([today, finer])[order]
    best = int(np.argmin(cost))
    if best > 0:
        around = today[max(1, best - 2) : best + 3]
        later = house.cost(stock, np.zeros(len(around)), [steady] * len(around), then=around).mean(axis=1)
        cost[0] = min(float(cost[0]), float(later.min()))
    lost = _missing(stock, use[:, :next_making])
    # The same made on the next making day would be fresher: today's saves no more than what is missing until then.
    saves = min(float(cost[0] - cost[best]), house.worth(0) * float(lost.mean()))
    if saves <= TRIFLE * costs.making:
        best, saves = 0, 0.0
    return MakingPlan(
        size=float(today[best]),
        steady=steady,
        expected_use=float(until_next.mean()),
        chance_short=float((lost > 1e-9).mean()),
        sizes=tuple(today.tolist()),
        cost=tuple(cost.tolist()),
        saves=saves,
    )


def _finer(sizes: np.ndarray, best: int, step: float) -> np.ndarray:
    """Sizes left out on either side of the best one, where they lie further apart than a step; at most `MOST_SIZES`."""
    low, high = (round(sizes[min(max(place, 0), len(sizes) - 1)] / step) for place in (best - 1, best + 1))
    inside = np.unique(np.linspace(low, high, MOST_SIZES + 2).round())[1:-1] * step
    return np.asarray(inside[~np.isclose(inside, sizes[best])])


@dataclass(frozen=True, kw_only=True)
class MakingDays:
    """Everything about a preparation but its stock and the way to decide."""

    use: np.ndarray
    keeps: int
    next_making: int
    step: float
    most: float
    costs: Costs

    def worth(self, day: int) -> float:
        """What a unit that is missing on a day costs."""
        now = self.costs.short_now
        return self.costs.short if now is None or day >= self.next_making else now

    @property
    def moves(self) -> list[tuple[int, str, float]]:
        """Changes of a way that are tried: weekday, which amount of it, by how much."""
        days = sorted({day % WEEK for day in range(0, self.use.shape[1], self.next_making)})
        usual = float(self.use.mean())
        return [
            (day, of, sign * much)
            for day in days
            for of, sizes in (("floor", (usual / 3, usual)), ("up_to", (max(self.step, usual / 2), 2 * usual)))
            for much in sizes
            for sign in (-1, 1)
        ]

    def covering(self, days: int, chances: Sequence[float]) -> np.ndarray:
        """Chances by days: the amount that covers the use of the next `days` days with each chance."""
        length = self.use.shape[1]
        through = np.concatenate([np.zeros((len(self.use), 1)), self.use.cumsum(axis=1)], axis=1)
        ends = np.minimum(np.arange(length) + days, length)
        return np.asarray(np.quantile(through[:, ends] - through[:, :length], chances, axis=0))

    def cost(
        self,
        stock: np.ndarray,
        first: np.ndarray,
        ways: Sequence[SteadyWay],
        few: int | None = None,
        then: np.ndarray | None = None,
    ) -> np.ndarray:
        """Cost of each first making (NaN: as its way says), with its way from then on; ways by draws.

        `then` says what is made on the making day after the first, in place of the way.

        What is left at the end counts as waste as far as use at the mean rate would leave it to pass its use-by.
        """
        use = self.use[:few].astype(np.float32)
        draws, days = use.shape
        width = max(len(stock), self.keeps)
        shelf = Shelf(stock, width, (len(ways), draws), np.float32)
        floor, up_to = np.array([way.floor for way in ways]), np.array([way.up_to for way in ways])
        total = np.zeros((len(ways), draws))
        mean = np.concatenate([use.mean(axis=0), np.full(width, use.mean())])
        for day in range(days):
            if day % self.next_making == 0:
                there = shelf.total() - shelf.too_old(mean[day : day + width])
                made = self.made_today(there, floor[:, day, None], up_to[:, day, None])
                if day == 0:
                    made = np.where(np.isnan(first)[:, None], made, first[:, None])
                if day == self.next_making and then is not None:
                    made = np.broadcast_to(then[:, None], made.shape)
                shelf.put(self.keeps, made)
                total += (self.costs.making + (self.costs.making_now if day == 0 else 0.0)) * (made > 0)
            short, wasted = shelf.pass_a_day(use[:, day])
            total += self.worth(day) * short + self.costs.waste * wasted
        left = shelf.too_old(mean[days:])
        # A making's work is spread over what it gives: what is left and good saves as much of a later one.
        usual = np.array([way.usual for way in ways])[:, None]
        return np.asarray(total + self.costs.waste * left - self.costs.making * (shelf.total() - left) / usual)

    def made_today(self, there: np.ndarray, floor: np.ndarray, up_to: np.ndarray) -> np.ndarray:
        """What a way makes where so much is there that will be used in time."""
        wanted = np.minimum(np.ceil((up_to - there) / self.step - 1e-6), np.ceil(self.most / self.step - 1e-6))
        return np.where(there < floor, np.maximum(wanted, 1.0) * self.step, 0.0)


def steady_way(house: MakingDays) -> SteadyWay:
    """The way that costs least from an empty shelf over the days ahead.

    The whole grid is tried on some of the draws, the few best on all.
    """
    longest = max(house.keeps, house.next_making)
    spans = np.unique(np.linspace(house.next_making, longest, MOST_SPANS).round().astype(int))
    targets = [up_to for span in spans for up_to in house.covering(int(span), COVERS)]
    ways: list[SteadyWay] = [
        SteadyWay(floor=floor, up_to=up_to, usual=max(float(up_to.mean() - floor.mean() / 2), house.step))
        for floor in house.covering(house.next_making, FLOORS)
        for up_to in targets
    ]
    empty = np.zeros(house.keeps)
    grid = house.cost(empty, np.full(len(ways), np.nan), ways, GRID_DRAWS).mean(axis=1)
    finalists = [ways[place] for place in np.argsort(grid, kind="stable")[:FINALISTS]]
    final = house.cost(empty, np.full(len(finalists), np.nan), finalists).mean(axis=1)
    best = finalists[int(np.argmin(final))]
    return _tuned(house, best) if house.keeps <= SHORT_KEEP else best


def _tuned(house: MakingDays, way: SteadyWay) -> SteadyWay:
    """The way, with floor and amount of each weekday moved as long as that costs less.

    Before a busy day less is wanted of what keeps two days than before a quiet one: one chance for all days does not
    say it. Moves that help by themselves are tried together, and else the best of them alone.
    """
    empty = np.zeros(house.keeps)

    def cost(ways: Sequence[SteadyWay]) -> np.ndarray:
        return np.asarray(house.cost(empty, np.full(len(ways), np.nan), ways, TUNING_DRAWS).mean(axis=1))

    least = float(cost([way])[0])
    for _ in range(TUNING_ROUNDS):
        moves = [_moved(way, [move]) for move in house.moves]
        found = cost(moves)
        better: dict[tuple[int, str], tuple[float, float]] = {}
        for (day, of, change), money in zip(house.moves, found, strict=True):
            if money < min(least, better.get((day, of), (least, 0.0))[0]):
                better[day, of] = (float(money), change)
        if not better:
            break
        together = _moved(way, [(day, of, change) for (day, of), (_, change) in better.items()])
        alone = moves[int(np.argmin(found))]
        both = cost([together, alone])
        way, least = (together, alone)[int(np.argmin(both))], float(both.min())
    return way


def _moved(way: SteadyWay, moves: Sequence[tuple[int, str, float]]) -> SteadyWay:
    """The way with amounts of some weekdays changed; a weekday is a day's number over 7."""
    amounts = {"floor": way.floor.copy(), "up_to": way.up_to.copy()}
    for day, of, change in moves:
        amounts[of][day::WEEK] = np.maximum(amounts[of][day::WEEK] + change, 0.0)
    return SteadyWay(floor=amounts["floor"], up_to=amounts["up_to"], usual=way.usual)


def _stock(lots: Sequence[Lot], keeps: int) -> np.ndarray:
    """Amounts by days they may still be used: place 0 is today only; what keeps very long is put together."""
    stock = np.zeros(max([keeps, *(min(lot.days, LONGEST_KEEP) for lot in lots)]))
    for lot in lots:
        if lot.days > 0:
            stock[min(lot.days, LONGEST_KEEP) - 1] += lot.amount
    return stock


def _missing(stock: np.ndarray, use: np.ndarray) -> np.ndarray:
    """Per draw, what is missing over the days of use if nothing is made."""
    shelf = Shelf(stock, len(stock), (len(use),))
    return np.asarray(sum(shelf.pass_a_day(wanted)[0] for wanted in use.T))
