"""How often a slip of the pen in a day is found, how often the right day is named, how often a sound day is doubted.

    python -m benchmarks.doubtful_days

Books of 30 and of 300 rows as people keep them, each with one slip or none, taken in on 28 November 2026.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import date, timedelta
from typing import Final

import numpy as np

from benchmarks.simulations import keep
from stillroom.intake.doubtful import doubtful

REPLICATES: Final = 500
TAKEN_ON: Final = date(2026, 11, 28)
Book = list[date]


def _season(generator: np.random.Generator, first: date, last: date, rows: int) -> Book:
    days = generator.integers(0, (last - first).days + 1, rows)
    return [first + timedelta(int(day)) for day in sorted(days)]


def in_order(generator: np.random.Generator, rows: int) -> Book:
    """A season, row below row."""
    return _season(generator, date(2026, 3, 1), date(2026, 11, 27), rows)


def with_a_pause(generator: np.random.Generator, rows: int) -> Book:
    """Two seasons with a closed winter between them."""
    before = _season(generator, date(2025, 4, 1), date(2025, 10, 31), rows // 2)
    return before + _season(generator, date(2026, 3, 15), date(2026, 11, 27), rows - rows // 2)


def newest_first(generator: np.random.Generator, rows: int) -> Book:
    """A season, the newest row on top."""
    return in_order(generator, rows)[::-1]


def by_preparation(generator: np.random.Generator, rows: int) -> Book:
    """A season of each of eight preparations, one below another."""
    return [day for _ in range(8) for day in in_order(generator, max(3, rows // 8))]


def in_no_order(generator: np.random.Generator, rows: int) -> Book:
    """A season, shuffled."""
    days = in_order(generator, rows)
    return [days[place] for place in generator.permutation(len(days))]


BOOKS: Final[dict[str, Callable[[np.random.Generator, int], Book]]] = {
    "in order": in_order,
    "newest first": newest_first,
    "two seasons, closed in winter": with_a_pause,
    "preparation by preparation": by_preparation,
    "in no order": in_no_order,
}


def _year(years: int) -> Callable[[date], date | None]:
    def slipped(day: date) -> date | None:
        return None if (day.month, day.day) == (2, 29) else day.replace(year=day.year + years)

    return slipped


def _turned(day: date) -> date | None:
    return date(day.year, day.day, day.month) if day.day <= 12 and day.day != day.month else None


SLIPS: Final[dict[str, Callable[[date], date | None]]] = {
    "a year later": _year(1),
    "a year earlier": _year(-1),
    "ten years earlier": _year(-10),
    "day and month changed about": _turned,
}


def clean(book: str, rows: int, replicates: int = REPLICATES) -> float:
    """Share of books without a slip in which any day is doubted."""
    generator = np.random.default_rng([list(BOOKS).index(book), rows])
    return sum(bool(doubtful(BOOKS[book](generator, rows), TAKEN_ON)) for _ in range(replicates)) / replicates


def slipped(book: str, slip: str, rows: int, replicates: int = REPLICATES) -> tuple[float, float, float]:
    """Of slips in one row: the share that is set aside, that with the right day named, that with a sound row beside."""
    generator = np.random.default_rng([list(BOOKS).index(book), list(SLIPS).index(slip), rows])
    found = named = beside = told = 0
    while told < replicates:
        days = BOOKS[book](generator, rows)
        place = int(generator.integers(len(days)))
        wrong = SLIPS[slip](days[place])
        if wrong is None:
            continue
        told += 1
        doubts = doubtful([*days[:place], wrong, *days[place + 1 :]], TAKEN_ON)
        found += place in doubts
        named += place in doubts and doubts[place].likely == days[place]
        beside += bool(doubts.keys() - {place})
    return found / told, named / told, beside / told


def table(rows: Sequence[int] = (30, 300)) -> list[str]:
    """The figures as lines of a table."""
    lines = [
        "| book | rows | slip | set aside | right day named | sound rows doubted |",
        "|---|---:|---|---:|---:|---:|",
    ]
    for book in BOOKS:
        for count in rows:
            lines.append(f"| {book} | {count} | none | – | – | {100 * clean(book, count):.1f} % |")
            for slip in SLIPS:
                shares = slipped(book, slip, count)
                lines.append(f"| {book} | {count} | {slip} | " + " | ".join(f"{100 * s:.1f} %" for s in shares) + " |")
    return lines


if __name__ == "__main__":
    keep("doubtful days", table())
