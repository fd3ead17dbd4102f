"""A season of evenings: what was ordered, and the till lines it left."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime, time, timedelta
from typing import Final

import numpy as np

from stillroom.demo.drinks import SELLING
from stillroom.demo.houses import House
from stillroom.demo.model import TillLine, in_service
from stillroom.demo.truths import ADDED_MID_SEASON, FIRST_DAY, LAST_DAY, LIFT, UNMATCHED

DAYS: Final = tuple(FIRST_DAY + timedelta(days=n) for n in range((LAST_DAY - FIRST_DAY).days + 1))
CLOSED_WEEKDAY: Final = 0  # Monday
CLOSED_DAY: Final = date(2026, 11, 3)
"""A day in the season on which the house stayed shut."""
FESTIVAL: Final = date(2026, 9, 19)
"""A harbour festival: fuller than any Saturday, and one drink of that evening alone."""
WEEKDAYS: Final = (0.0, 0.84, 0.86, 0.95, 1.14, 1.33, 0.88)
"""Size of an evening from Monday to Sunday; the six open ones average 1."""

OPENS: Final = time(17)
MINUTES_OPEN: Final = 538  # the last line is rung before 02:00
TAX: Final = 1.2  # menu prices hold 20 % tax
JUG: Final = ("FOGHORN JUG", "Foghorn Sunday", 4, 0.9)  # spelling, drink, serves, share of the full price
TYPING_ERROR_FOR: Final = timedelta(days=5)
"""After the first day of the better version: so long its button was labelled wrong."""
NOT_OURS: Final = (
    ("BTL LAGER", 458, 11.0),
    ("BTL PALE ALE", 500, 6.0),
    ("OLIVES", 417, 6.0),
    ("SALT NUTS", 375, 5.0),
    ("FLATBREAD", 750, 4.0),
    ("STILL WATER", 333, 5.0),
)
"""Food and bottles: spelling, net cents, how many on an average evening."""


def is_open(day: date) -> bool:
    """Whether the house is open on the evening of that day."""
    return day.weekday() != CLOSED_WEEKDAY and day != CLOSED_DAY


def expected_serves(drink: str, day: date, house: House) -> float:
    """How many serves of a drink on the menu to expect on an open evening."""
    selling = SELLING[drink]
    growth: float = selling.weekly ** ((day - FIRST_DAY).days / 7)
    lift = LIFT[2] if drink == LIFT[0] and day >= house.better_since else 1.0
    crowd = 1.15 if day == FESTIVAL else 1.0
    return house.size * selling.serves * WEEKDAYS[day.weekday()] * growth * lift * crowd


def season(rng: np.random.Generator, house: House) -> list[TillLine]:
    """Every till line of the season, in the order in which it was rung."""
    lines: list[TillLine] = []
    checks = 0
    for day in filter(is_open, DAYS):
        evening = _evening(day, rng, house)
        timed, checks = _on_checks(evening, checks, rng)
        lines += sorted(timed, key=lambda line: line.sold_at)
    return [replace(line, line_id=f"{number:06d}") for number, line in enumerate(lines, 1)]


def _evening(day: date, rng: np.random.Generator, house: House) -> list[TillLine]:
    """What was ordered on an evening, not yet on checks."""
    mood = rng.gamma(200, 1 / 200)  # good and bad evenings move all drinks together
    ordered: list[TillLine] = []
    for drink, version in in_service(house.book.drinks, day).items():
        assert version.price is not None
        rate = expected_serves(drink, day, house) * mood
        serves = int(rng.negative_binomial(40, 40 / (40 + rate)))
        for quantity in _quantities(serves, rng):
            spelling = _spelling(drink, day, rng, house)
            ordered.append(_line(day, spelling, quantity, _net_cents(version.price), drink))
        if drink == JUG[1] and rng.random() < 0.25:
            ordered.append(_line(day, JUG[0], 1, round(_net_cents(version.price) * JUG[2] * JUG[3]), drink, JUG[2]))
    for spelling, cents, rate in NOT_OURS:
        for quantity in _quantities(int(rng.poisson(rate * WEEKDAYS[day.weekday()])), rng):
            ordered.append(_line(day, spelling, quantity, cents, None))
    ordered += _unmatched(day, rng)
    return [_discounted(line, rng) for line in ordered]


def _line(day: date, till_item: str, quantity: int, cents: int, drink: str | None, serves: int = 1) -> TillLine:
    return TillLine(
        business_date=day,
        sold_at=datetime.combine(day, OPENS),
        till_item=till_item,
        quantity=quantity,
        cents=quantity * cents,
        drink=drink,
        serves=serves,
    )


def _net_cents(price: float) -> int:
    return round(price * 100 / TAX)


def _quantities(total: int, rng: np.random.Generator) -> list[int]:
    """Split what was sold into lines of one to four."""
    quantities = []
    while total > 0:
        quantity = min(total, int(rng.choice(4, p=(0.70, 0.22, 0.05, 0.03))) + 1)
        quantities.append(quantity)
        total -= quantity
    return quantities


def _spelling(drink: str, day: date, rng: np.random.Generator, house: House) -> str:
    """How the till spelt it; the button of the new version was labelled wrong for a few days."""
    new = house.better_since
    if drink == LIFT[0] and new <= day and day - new <= TYPING_ERROR_FOR and rng.random() < 0.2:
        return UNMATCHED[0]
    spellings = SELLING[drink].spellings
    return spellings[min(int(rng.geometric(0.8)), len(spellings)) - 1]


def _unmatched(day: date, rng: np.random.Generator) -> list[TillLine]:
    """Lines under names that nobody told the house about."""
    if ADDED_MID_SEASON[1] - timedelta(days=6) <= day < ADDED_MID_SEASON[1]:
        return [_line(day, UNMATCHED[1], 1, 1000, ADDED_MID_SEASON[0]) for _ in range(int(rng.integers(1, 4)))]
    if day == FESTIVAL:
        return [_line(day, UNMATCHED[2], 1, 833, None) for _ in range(int(rng.integers(12, 20)))]
    return []


def _discounted(line: TillLine, rng: np.random.Generator) -> TillLine:
    """A few lines are on the house, a few a fifth cheaper."""
    luck = rng.random()
    if luck < 0.012:
        return replace(line, cents=0)
    if luck < 0.04:
        return replace(line, cents=round(line.cents * 0.8))
    return line


def _on_checks(ordered: list[TillLine], checks: int, rng: np.random.Generator) -> tuple[list[TillLine], int]:
    """Put an evening's lines on checks and give each its minute; some are rung by mistake and voided."""
    shuffled = [ordered[int(i)] for i in rng.permutation(len(ordered))]
    timed: list[TillLine] = []
    while shuffled:
        size = int(rng.integers(1, 6))
        check, shuffled = shuffled[:size], shuffled[size:]
        checks += 1
        minute = rng.beta(2.2, 2.0) * (MINUTES_OPEN - 40)
        for line in check:
            minute += rng.exponential(4)
            rung = replace(line, sold_at=_at(line, minute), check_id=f"T{checks:05d}")
            timed.append(rung)
            if rng.random() < 0.009:
                timed += _voided(rung, minute, rng)
    return timed, checks


def _voided(line: TillLine, minute: float, rng: np.random.Generator) -> list[TillLine]:
    """The same line rung once more by mistake, and its void some minutes later."""
    later = _at(line, minute + 1 + rng.exponential(3))
    return [line, replace(line, sold_at=later, quantity=-line.quantity, cents=-line.cents)]


def _at(line: TillLine, minute: float) -> datetime:
    opening = datetime.combine(line.business_date, OPENS)
    return opening + timedelta(seconds=int(60 * min(minute, MINUTES_OPEN + 1)))
