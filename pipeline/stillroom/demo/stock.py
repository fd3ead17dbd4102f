"""The batch book: what was made, and what became of it, day by day as the sales used it up."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import Final

import numpy as np

from stillroom.demo.evenings import DAYS, expected_serves, is_open
from stillroom.demo.houses import House
from stillroom.demo.model import Row, TillLine, Version, in_service
from stillroom.demo.preparations import HABITS
from stillroom.demo.specs import BOOK
from stillroom.demo.truths import OFF_TARGET, SPOILED, WILL_NOT_BE_USED

COUNT_DAYS: Final = (date(2026, 9, 28), date(2026, 10, 26))
"""Mondays on which the shelves were counted."""
PARTY: Final = (date(2026, 11, 20), 3)
"""Day and makings of the batch for a party that was called off."""
MAKERS: Final = ("AK", "JV", "MS")
LOGS: Final = {"used up": 0.85, "poured away": 0.95}
"""How often somebody remembers to write it down."""
GARNISHES: Final = frozenset(version.spec for version in BOOK.preparations if version.kind == "garnish")
"""Counted out, not poured."""
NOTHING: Final = 5.0
"""ml, g: less than this in a bottle is an empty bottle."""


@dataclass
class Bottle:
    """A batch while it is on the shelf."""

    label: str
    preparation: str
    unit: str
    made_on: date
    use_by: date
    left: float
    goes_off_on: date | None = None

    def usable_on(self, day: date) -> bool:
        """Whether it may still be used."""
        return self.made_on <= day <= self.use_by and self.left > 0


@dataclass
class Shelves:
    """All batches on the shelves, and the book that is kept of them."""

    rng: np.random.Generator
    house: House
    bottles: list[Bottle] = field(default_factory=list)
    batches: list[Row] = field(default_factory=list)
    events: list[Row] = field(default_factory=list)
    made: Counter[str] = field(default_factory=Counter)

    def on_hand(self, preparation: str, day: date) -> float:
        """What may be used of a preparation on a day."""
        return sum(b.left for b in self.bottles if b.preparation == preparation and b.usable_on(day))

    def take(self, preparation: str, amount: float, day: date) -> None:
        """Use some, oldest bottle first; makes another batch when it does not suffice."""
        while self.on_hand(preparation, day) < amount:
            self.make(preparation, day)
        for bottle in self.bottles:
            if bottle.preparation == preparation and bottle.usable_on(day) and amount > 0:
                taken = min(bottle.left, amount)
                amount -= taken
                bottle.left -= taken
                if bottle.left < NOTHING:
                    bottle.left = 0
                    self.log(bottle, day, "used up")
        self.bottles = [bottle for bottle in self.bottles if bottle.left > 0]

    def make(self, preparation: str, day: date, makings: float | None = None) -> None:
        """Make a batch by the version in service, with what goes into it."""
        version = in_service(self.house.book.preparations, day)[preparation]
        habit = HABITS[preparation]
        makings = makings or habit.makings
        for line in version.lines:
            if line.item in HABITS:
                self.take(line.item, line.base_amount * makings, day)
        self.made[preparation] += 1
        amount = _rounded(version.yield_amount * makings * self.rng.normal(0.995, 0.015), version.yield_unit)
        assert version.keeps_days is not None
        bottle = Bottle(
            label=f"{habit.label}-{self.made[preparation]:02d}",
            preparation=preparation,
            unit=version.yield_unit,
            made_on=day,
            use_by=day + timedelta(days=version.keeps_days),
            left=amount,
            goes_off_on=_goes_off(preparation, self.made[preparation], day),
        )
        self.bottles.append(bottle)
        self.batches.append(self._book_row(bottle, version, amount))

    def _book_row(self, bottle: Bottle, version: Version, amount: float) -> Row:
        habit = HABITS[bottle.preparation]
        brix, ph = habit.brix, habit.ph
        if brix and bottle.preparation == OFF_TARGET[0] and bottle.made_on >= OFF_TARGET[1]:
            brix += OFF_TARGET[2]
        written = self.rng.random() < 0.7
        return {
            "batch": bottle.label,
            "preparation": bottle.preparation,
            "version": version.version if written else None,
            "made_on": bottle.made_on,
            "made_amount": f"{amount:g}",
            "made_unit": bottle.unit,
            "use_by": bottle.use_by if written else None,
            "venue": None,
            "storage": version.storage,
            "made_by": MAKERS[int(self.rng.integers(len(MAKERS)))],
            "brix": f"{self.rng.normal(brix, 0.5):.1f}" if brix else None,
            "ph": f"{self.rng.normal(ph, 0.06):.2f}" if ph and self.rng.random() < 0.8 else None,
            "note": None,
        }

    def log(
        self, bottle: Bottle, day: date, event: str, amount: float | None = None, reason: str | None = None
    ) -> None:
        """Write an event into the book, unless it is forgotten."""
        if self.rng.random() < LOGS.get(event, 1.0):
            self.events.append(
                {
                    "batch": bottle.label,
                    "happened_on": day,
                    "event": event,
                    "amount": None if amount is None else f"{_rounded(amount, bottle.unit):g}",
                    "unit": None if amount is None else bottle.unit,
                    "reason": reason,
                }
            )

    def clear_out(self, day: date) -> None:
        """Before opening: throw out what is past its use-by, and what went off."""
        for bottle in self.bottles:
            if bottle.goes_off_on and day >= bottle.goes_off_on and day <= bottle.use_by:
                self.log(bottle, day, "spoiled", bottle.left, "fermenting")
                bottle.left = 0
            elif day > bottle.use_by:
                self.log(bottle, day, "poured away", bottle.left, "past its use-by")
                bottle.left = 0
        self.bottles = [bottle for bottle in self.bottles if bottle.left > 0]

    def count(self, day: date) -> None:
        """Count what is left of every batch."""
        for bottle in self.bottles:
            if bottle.usable_on(day):
                self.log(bottle, day, "counted", bottle.left, "stock count")


def batch_book(lines: Iterable[TillLine], rng: np.random.Generator, house: House) -> tuple[list[Row], list[Row]]:
    """Batches and their events over the season that sold these lines."""
    shelves = Shelves(rng, house)
    sold: dict[date, Counter[str]] = defaultdict(Counter)
    for line in lines:
        if line.drink:
            sold[line.business_date][line.drink] += line.quantity * line.serves
    for day in DAYS:
        if day in COUNT_DAYS:
            shelves.count(day)
        if not is_open(day) and day != DAYS[0]:
            continue
        shelves.clear_out(day)
        for preparation, need in _expected_use(day, house).items():
            if shelves.on_hand(preparation, day) < need:
                shelves.make(preparation, day)
        if day == PARTY[0]:
            shelves.make(WILL_NOT_BE_USED, day, PARTY[1])
        for preparation, amount in _use(sold[day], day, house).items():
            overpour = 1.0 if preparation in GARNISHES else max(0.0, rng.normal(1.015, 0.015))
            shelves.take(preparation, amount * overpour, day)
    return shelves.batches, shelves.events


def _expected_use(day: date, house: House) -> dict[str, float]:
    """What an evening is expected to use of each preparation, in the order in which they are made."""
    evening = day if is_open(day) else day + timedelta(days=1)
    expected = {drink: expected_serves(drink, evening, house) for drink in in_service(house.book.drinks, evening)}
    use = _use(expected, evening, house)
    return {preparation: use[preparation] for preparation in HABITS if preparation in use}


def _use(serves: dict[str, float] | Counter[str], day: date, house: House) -> dict[str, float]:
    """What serves of drinks take of each preparation, in ml, g or pieces."""
    use: dict[str, float] = defaultdict(float)
    versions = in_service(house.book.drinks, day)
    for drink, count in serves.items():
        # a drink sold before its first day is poured as its first version
        version = versions.get(drink) or next(v for v in house.book.drinks if v.spec == drink)
        for line in version.lines:
            if line.item in HABITS:
                use[line.item] += count * line.base_amount
    return use


def _goes_off(preparation: str, number: int, made_on: date) -> date | None:
    for name, which, days in SPOILED:
        if (name, which) == (preparation, number):
            return made_on + timedelta(days=days)
    return None


def _rounded(amount: float, unit: str) -> float:
    return float(round(amount)) if unit == "each" else round(amount, -1)
