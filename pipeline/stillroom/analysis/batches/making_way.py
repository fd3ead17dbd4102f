"""How to go on making something, day after day, so that in the long run it costs least: by dynamic programming.

The perishable newsvendor with several periods: the oldest is used first, what is past its use-by is lost, and on every
making day a batch may be made. What is there is told by two numbers: how much, and how many days the newest of it may
still be used. When a batch joins it, the older part is taken to last as long as the newer, less what it is expected to
lose before (of what is on its last day, exactly that). So of a keep of two days the way is the true optimum; of longer
keeps it is near it (Nahmias 1982, Operations Research 30:680, on such approximations, from memory), and the state stays
small. Costs are counted back from the last day, whose value is that of the same weekday before it.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import lcm
from typing import Final

import numpy as np

from stillroom.analysis.batches.shelf import Shelf
from stillroom.analysis.special import normal_below

WEEK: Final = 7
LEVELS: Final = 60
"""Amounts that are told apart, about."""
MOST_SIZES: Final = 14
MORE_SIZES: Final = 28
"""The same for the days to come, where nothing is looked at more closely."""
FULL: Final = 0.99
"""Chance of having enough that is looked at in any case."""
TOP_DRAWS: Final = 400
"""Draws that the highest amount is taken from."""
ROUNDS: Final = 3
"""Times that the last weeks are gone through for the value of what is left at the end."""


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
class MakingDays:
    """Everything about a preparation but its stock and the way to decide."""

    use: np.ndarray
    """Draws by days of the use to come."""
    keeps: int
    """Days a batch may be used, the day it is made included."""
    next_making: int
    """Days from one making day to the next."""
    step: float
    """The smallest part that is made."""
    most: float
    """The most that is made at a time."""
    costs: Costs


@dataclass(frozen=True, kw_only=True)
class MakingWay:
    """What to make on each day ahead, by what is there."""

    level: float
    """From one amount that is told apart to the next, in the preparation's unit."""
    sizes: np.ndarray
    """By day, days left of the newest (from 1), and level: how much to make; nothing where it is no making day."""
    value: np.ndarray
    """The same, and for the day after the last: money to come on the morning of the day, against an empty shelf."""
    lost: np.ndarray
    """By day, days left (from 1) and level: how much of such an amount is expected to pass its use-by."""
    waste: float
    """Money that a unit of that costs."""

    def made(self, day: int, shelf: Shelf) -> np.ndarray:
        """What is made on a day."""
        there, row, _ = self._state(day, shelf)
        return np.asarray(self.sizes[day][row, np.rint(self._levels(there)).astype(np.intp)])

    def to_come(self, day: int, shelf: Shelf) -> np.ndarray:
        """What the days from this one on cost, against an empty shelf."""
        there, row, lost = self._state(day, shelf)
        below, part = _between(self._levels(there), self.value.shape[2])
        low, high = self.value[day][row, below], self.value[day][row, below + 1]
        return np.asarray(self.waste * lost + low + part * (high - low))

    def _state(self, day: int, shelf: Shelf) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """What is there less what is to be lost of all but the newest, the row of the newest, and that loss."""
        through, row, lost, all_lost = (np.zeros(shelf.cases, kind) for kind in (float, np.intp, float, float))
        last = self.value.shape[1] - 1
        for place, lot in shelf.lots():
            some = lot > 0
            lost = np.where(some, all_lost, lost)
            row[some] = min(place, last)
            through += lot
            below, part = _between(self._levels(through), self.value.shape[2])
            table = self.lost[day, min(place, last)]
            all_lost = np.maximum(all_lost, table[below] + part * (table[below + 1] - table[below]))
        return through - lost, row, lost

    def _levels(self, there: np.ndarray) -> np.ndarray:
        return np.asarray(np.minimum(there / self.level, self.value.shape[2] - 1))


@dataclass(frozen=True, kw_only=True)
class Followed:
    """What came of a way, one figure for each draw; amounts in the preparation's unit."""

    wasted: np.ndarray
    short: np.ndarray
    makings: np.ndarray
    """How many times something was made."""
    made: np.ndarray


def sizes_up_to(need: float, step: float, number: int = MOST_SIZES) -> tuple[float, ...]:
    """Sizes to choose from: multiples of `step`, up to the first that covers `need`, at most `number` of them.

    >>> sizes_up_to(1000, 400)
    (400.0, 800.0, 1200.0)
    """
    most = max(1, int(np.ceil(need / step - 1e-9)))
    numbers = np.unique(np.round(np.linspace(1, most, min(most, number))).astype(int))
    return tuple(float(number * step) for number in numbers)


def making_way(days: MakingDays) -> MakingWay:
    """The way that costs least in the long run."""
    return _Backwards(days).way()


def follow(days: MakingDays, way: MakingWay) -> Followed:
    """Follow a way twice over the days, from an empty shelf, and count the second time."""
    draws, length = days.use.shape
    shelf = Shelf([], days.keeps, (draws,))
    wasted, short, makings, made = (np.zeros(draws) for _ in range(4))
    for number in range(2 * length):
        day = number % length
        amount = np.zeros(draws)
        if day % days.next_making == 0:
            amount = way.made(day, shelf)
            shelf.put(days.keeps, amount)
        missing, gone = shelf.pass_a_day(days.use[:, day])
        if number >= length:
            makings += amount > 0
            made += amount
            wasted += gone
            short += missing
    return Followed(wasted=wasted, short=short, makings=makings, made=made)


class _Backwards:
    """One backward pass after another over the days."""

    def __init__(self, days: MakingDays) -> None:
        self.days, self.length, self.rows = days, days.use.shape[1], max(days.keeps - 1, 1)
        top = self._top()
        self.sizes = np.array(sizes_up_to(min(days.most, top), days.step, MORE_SIZES))
        highest = min(top, 2 * max(days.most, days.step)) + days.step
        level = highest / LEVELS
        # Where makings are larger than that, they end on a level.
        self.level = days.step / round(days.step / level) if days.step > level else level
        self.amounts = np.arange(int(np.ceil(highest / self.level)) + 2) * self.level
        self.chances = self._chances()
        below = 1 - self.chances.cumsum(axis=1)
        self.short = np.maximum(below[:, ::-1].cumsum(axis=1)[:, ::-1], 0.0) * self.level
        mean = self.chances @ self.amounts
        over = self.amounts - mean[:, None] + self.short
        self.lost = np.concatenate([over[:, None], self._later_lost()], axis=1)

    def way(self) -> MakingWay:
        """The choices and values of the last pass."""
        levels = len(self.amounts)
        sizes = np.zeros((self.length, self.rows, levels))
        value = np.zeros((self.length + 1, self.rows, levels))
        period = lcm(WEEK, self.days.next_making)
        if period > self.length:
            period = self.length // self.days.next_making * self.days.next_making
        for begin in [self.length - period] * ROUNDS + [0]:
            value[-1] = value[self.length - period] - value[self.length - period, 0, 0]
            for day in reversed(range(begin, self.length)):
                value[day], sizes[day] = self._day(day, value[day + 1])
        value -= value[:, :1, :1]
        return MakingWay(level=self.level, sizes=sizes, value=value, lost=self.lost, waste=self.days.costs.waste)

    def _day(self, day: int, after: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Value and choice of each state on the morning of a day, from those of the next."""
        costs, chance = self.days.costs, self.chances[day]
        size = len(chance)
        apart = np.arange(size)[:, None] - np.arange(size)[None]
        to = np.where(apart >= 0, chance[np.maximum(apart, 0)], 0.0)  # from this level to that one by the day's use
        to[:, 0] = chance[::-1].cumsum()[::-1]
        coming = after @ to.T
        value = np.empty_like(after)
        value[0] = costs.short * self.short[day] + costs.waste * self.lost[day, 0] + after[0, 0]
        value[1:] = costs.short * self.short[day] + coming[:-1]
        made = np.zeros_like(value)
        if day % self.days.next_making == 0:
            each = self._making(day, after, coming)
            best = each.argmin(axis=2)
            least = np.take_along_axis(each, best[:, :, None], axis=2)[:, :, 0]
            made = np.where(least < value, self.sizes[best], 0.0)
            value = np.minimum(value, least)
        return value, made

    def _making(self, day: int, after: np.ndarray, coming: np.ndarray) -> np.ndarray:
        """Cost of making each size in each state, with all that comes after: days left by levels by sizes."""
        costs, amounts, chance = self.days.costs, self.amounts, self.chances[day]
        size = len(amounts)
        each = np.empty((self.rows, size, len(self.sizes)))
        # On its last day: what the day wants beyond it, the new batch gives.
        reached = np.arange(size)[:, None] + np.arange(size)[None]
        beyond = np.where(reached < size, chance[np.minimum(reached, size - 1)], 0.0)
        beyond[:, 0] = chance.cumsum()
        whole = amounts[:, None] + self.sizes
        missing = self._at(self.short[day], whole)
        if self.days.keeps == 1:
            each[0] = costs.short * missing + costs.waste * (whole - amounts @ chance + missing) + after[0, 0]
        else:
            left = np.maximum(self.sizes[:, None] - amounts, 0.0)
            each[0] = (
                costs.short * missing + costs.waste * self.lost[day, 0][:, None] + beyond @ self._at(after[-1], left).T
            )
        if self.rows > 1:
            lost = self.lost[day, 1:, :, None]
            joined = amounts[:, None] - lost + self.sizes
            each[1:] = costs.waste * lost + self._at(costs.short * self.short[day] + coming[-1], joined)
        return each + costs.making

    def _at(self, values: np.ndarray, amounts: np.ndarray) -> np.ndarray:
        """Values of levels at amounts between them."""
        below, part = _between(np.minimum(amounts / self.level, len(values) - 1.0), len(values))
        return np.asarray(values[below] + part * (values[below + 1] - values[below]))

    def _later_lost(self) -> np.ndarray:
        """What an amount that may be used for 2, 3 ... days is expected to lose, were use normal; days by those."""
        begins = np.arange(self.length)[:, None]
        ends = np.minimum(begins + np.arange(2, self.days.keeps), self.length)
        mean, variance = (sums[ends] - sums[begins] for sums in (self.means, self.variances))
        spread = np.sqrt(variance + 1e-9)[:, :, None]
        apart = (self.amounts - mean[:, :, None]) / spread
        lost = spread * (apart * normal_below(apart) + np.exp(-(apart**2) / 2) / np.sqrt(2 * np.pi))
        return np.asarray(np.clip(lost, 0.0, self.amounts))

    def _top(self) -> float:
        """The most that the days of a keep, or those until the next making, are likely to want."""
        few = self.days.use[:TOP_DRAWS]
        window = min(max(self.days.keeps, self.days.next_making), self.length)
        through = np.concatenate([np.zeros((len(few), 1)), few.cumsum(axis=1)], axis=1)
        return float(np.quantile(through[:, window:] - through[:, :-window], FULL, axis=0).max())

    def _chances(self) -> np.ndarray:
        """Days by levels: how likely a day's use is each; between two, in part both.

        What the days of a making period share (`shared_luck`) makes each of them stray further.
        """
        use = self.days.use
        mean = use.mean(axis=0)
        use = np.maximum(mean + _shared_luck(use, self.days.next_making) * (use - mean), 0.0)
        self.means = np.concatenate([[0.0], use.mean(axis=0).cumsum()])
        self.variances = np.concatenate([[0.0], use.var(axis=0).cumsum()])
        size = len(self.amounts)
        low, part = _between(np.minimum(use / self.level, size - 1.0), size)
        place, part = (np.arange(self.length) * size + low).ravel(), part.ravel()
        count = self.length * size
        both = np.bincount(place, 1 - part, count) + np.bincount(place + 1, part, count)
        return np.asarray(both.reshape(self.length, size) / len(use))


def _between(levels: np.ndarray, number: int) -> tuple[np.ndarray, np.ndarray]:
    """The level below, of so many, and how far beyond it."""
    below = np.minimum(levels.astype(np.intp), number - 2)
    return below, levels - below


def _shared_luck(use: np.ndarray, period: int) -> float:
    """How much further the use of whole periods strays than if its days had nothing in common."""
    whole = use.shape[1] // period * period
    if period == 1 or not whole:
        return 1.0
    parts = use[:, :whole].reshape(len(use), -1, period)
    alone = float(parts.var(axis=0).sum())
    return float(np.sqrt(parts.sum(axis=2).var(axis=0).sum() / alone)) if alone > 0 else 1.0
