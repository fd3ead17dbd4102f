"""Days that cannot be, or hardly: ahead of the day on which their file was first taken in, or far from all the rest.

A slip of the pen (another year, day and month changed about, one digit) lets one row set the house's today, or a
season's first day. Such a row is set aside, with the day that was likely meant, until it is corrected or confirmed.
The thresholds are common practice, no source.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import pairwise
from statistics import median
from typing import TYPE_CHECKING, Final

import polars as pl

from stillroom.intake.moments import in_year
from stillroom_schemas.table import Table

if TYPE_CHECKING:
    import duckdb

RULE: Final = "doubtful"
"""What sorts these problems apart from others (see `checking.PROBLEMS`)."""

FEW: Final = 0.02
"""Share of a file's rows that may be far from the rest and still be slips."""
ENOUGH: Final = 10
"""Rows that a file must have besides, for any to be far from them."""
APART: Final = 90
"""Days without any row between a slip and the rest; a house that closes for longer has its longest gap three times."""
GONE_WRONG: Final = 1000
"""Days apart that no closure explains."""
STEP: Final = 60
"""Days that a book kept in order hardly leaps."""
NEAR: Final = 31
"""Days by which the likely day may miss its neighbours."""
NEIGHBOURS: Final = 3
RUN: Final = 3
"""A run of slips, as in a January with last year's number, is at most the third part of a file."""


@dataclass(frozen=True)
class Doubt:
    """A day that is doubtful."""

    day: date
    likely: date | None
    """The day that was likely meant."""
    ahead: bool
    """It lies after the day on which its file was first taken in; else it is far from the rest."""


def in_file(con: duckdb.DuckDBPyConnection, table: Table, intake_id: int, taken_on: date) -> pl.DataFrame:
    """The problems of landed rows of an intake whose days are doubtful."""
    from stillroom.intake.checking import NO_PROBLEMS

    past = [name for name, column in table.schema().columns.items() if (column.metadata or {}).get("past")]
    return pl.concat([NO_PROBLEMS, *(_of_column(con, table, intake_id, name, taken_on) for name in past)])


def _of_column(
    con: duckdb.DuckDBPyConnection, table: Table, intake_id: int, column: str, taken_on: date
) -> pl.DataFrame:
    from stillroom.intake.checking import NO_PROBLEMS

    rows = _of_export if table.export is not None else _of_book
    said = f'row_number, CAST("{column}" AS DATE) AS day, CAST("{column}" AS VARCHAR) AS value'
    problems = [
        (number, column, _in_words(doubt, taken_on), value, RULE)
        for number, value, doubt in rows(
            con, f'SELECT {said} FROM "{table.name}" WHERE intake_id = ?', intake_id, taken_on
        )
    ]
    return pl.DataFrame(problems, schema=NO_PROBLEMS.schema, orient="row")


def _of_book(
    con: duckdb.DuckDBPyConnection, rows: str, intake_id: int, taken_on: date
) -> Iterator[tuple[int, str, Doubt]]:
    """Row number, value and doubt, by the days of all rows in their order."""
    told = con.execute(f"{rows} ORDER BY row_number, cell_number", [intake_id]).fetchall()
    for place, doubt in doubtful([day for _, day, _ in told], taken_on).items():
        yield told[place][0], told[place][2], doubt


def _of_export(
    con: duckdb.DuckDBPyConnection, rows: str, intake_id: int, taken_on: date
) -> Iterator[tuple[int, str, Doubt]]:
    """The same by the days on which there are rows, of which there may be millions."""
    days = con.execute(f"SELECT day, count(*) FROM ({rows}) GROUP BY day ORDER BY day", [intake_id]).fetchall()
    found = doubtful([day for day, _ in days], taken_on, [count for _, count in days])
    doubts = {doubt.day: doubt for doubt in found.values()}
    if doubts:
        asked = f"FROM ({rows}) WHERE list_contains(?, day) ORDER BY row_number"
        for number, day, value in con.execute(asked, [intake_id, list(doubts)]).fetchall():
            yield number, value, doubts[day]


def _in_words(doubt: Doubt, taken_on: date) -> str:
    why = f"lies after {taken_on}, the day its file was taken in" if doubt.ahead else "is far from the rest of its file"
    return f"{why}{f': perhaps {doubt.likely}?' if doubt.likely else ''}"


def likely_in(problem: str) -> date | None:
    """The day that was likely meant, as the problem of a doubtful row says it."""
    found = re.search(r"perhaps (\d{4}-\d\d-\d\d)\?$", problem)
    return date.fromisoformat(found[1]) if found else None


def told(con: duckdb.DuckDBPyConnection, intake_id: int) -> tuple[str, ...]:
    """The rows of an intake that were set aside for their days, for those who watch."""
    asked = 'SELECT row_number, "column", "value", problem FROM set_aside WHERE intake_id = ? AND rule = ? ORDER BY ALL'
    rows = con.execute(asked, [intake_id, RULE]).fetchall()
    return tuple(f"row {number}: {column} {value} {problem}" for number, column, value, problem in rows)


def doubtful(days: Sequence[date | None], taken_on: date, rows: Sequence[int] = ()) -> dict[int, Doubt]:
    """The doubtful days of a file.

    Args:
        days: of its rows, in their order; or of an export, which is too long for that, its days in their order.
        taken_on: the day on which it was first taken in.
        rows: of an export, how many rows there are of each day.

    Returns:
        place in `days` -> what is doubtful of it.
    """
    known = {place: day for place, day in enumerate(days) if day is not None}
    ahead = {place for place, day in known.items() if day > taken_on}
    rest = {place: day for place, day in known.items() if place not in ahead}
    weights = dict(enumerate(rows)) if rows else dict.fromkeys(rest, 1)
    out_of_order = None if rows else _out_of_order(rest, taken_on)
    far = (out_of_order or set()) | _apart(rest, weights, taken_on, slips=out_of_order is None)
    sound = {place: day for place, day in rest.items() if place not in far}
    return {
        place: Doubt(known[place], _likely(known[place], _beside(place, sound, whole=bool(rows)), taken_on), ahead=here)
        for here, places in ((True, ahead), (False, far))
        for place in sorted(places)
    }


@dataclass(frozen=True)
class _Book:
    """The rows of a book that is kept in the order of days, parted where it leaps."""

    places: tuple[int, ...]
    days: tuple[date, ...]
    leaps: tuple[int, ...]
    """Where in `places` it leaps."""

    @property
    def upwards(self) -> bool:
        """Later days stand below."""
        return sum((after > day) - (after < day) for day, after in pairwise(self.days)) >= 0

    def leap(self, at: int) -> int:
        """The days of a leap; below 0 where it goes against the order of the book."""
        days = (self.days[at] - self.days[at - 1]).days
        return days if self.upwards else -days


def _book(days: dict[int, date]) -> _Book | None:
    """The rows as a book in the order of days; None where they are too few, or in no such order."""
    places, values = tuple(days), tuple(days.values())
    leaps = tuple(n for n in range(1, len(values)) if abs((values[n] - values[n - 1]).days) > STEP)
    if len(places) <= ENOUGH or len(leaps) > max(4, len(places) // 8):
        return None
    return _Book(places, values, leaps)


def _out_of_order(days: dict[int, date], taken_on: date) -> set[int] | None:
    """Rows that leap away from their neighbours, whom they would stand beside in another year, or turned about.

    The shortest run goes first, and one between two others before one at an end: once it is out, those around it may
    stand in order. None of what is no such book.
    """
    if (book := _book(days)) is None:
        return None
    found: set[int] = set()
    while book is not None and (run := _slipped_run(book, taken_on)):
        found |= run
        book = _book({place: day for place, day in days.items() if place not in found})
    return found


def _slipped_run(book: _Book, taken_on: date) -> set[int]:
    last = len(book.places)
    runs = pairwise((0, *book.leaps, last))
    by_length = sorted((end - start, start == 0 or end == last, start, end) for start, end in runs)
    slipped = (book.places[start:end] for _, _, start, end in by_length if _slipped(book, start, end, taken_on))
    return set(next(slipped, ()))


def _slipped(book: _Book, start: int, end: int, taken_on: date) -> bool:
    """Whether a run of rows between two leaps has slipped."""
    own = book.days[start:end]
    if RUN * len(own) > len(book.places) or (max(own) - min(own)).days > NEAR:
        return False
    beside = [book.days[n] for n in (start - 1, end) if 0 <= n < len(book.places)]
    if len(beside) == 1 and not _may_slip_at_an_end(book, start, end):
        return False
    if len(own) == 1 and any(_stands_beside(day, beside) for day in _turned(own[0], beside) if day <= taken_on):
        return True
    years = {near.year - own[0].year + turn for near in beside for turn in (-1, 0, 1)} - {0}
    return any(_fits(own, shift, beside, taken_on) for shift in years)


def _stands_beside(day: date, others: Sequence[date]) -> bool:
    return all(abs((day - other).days) <= NEAR for other in others)


def _may_slip_at_an_end(book: _Book, start: int, end: int) -> bool:
    """The first or last rows have one neighbour, and a house may pause for a year.

    They go against the order, or are few and leap further than any others.
    """
    at = end if start == 0 else start
    others = [abs(book.leap(leap)) for leap in book.leaps if leap != at]
    few = end - start <= max(1, FEW * len(book.places))
    return book.leap(at) < 0 or (few and book.leap(at) > 3 * max(others, default=0))


def _fits(own: Sequence[date], years: int, beside: Sequence[date], taken_on: date) -> bool:
    """Whether some days, moved by years, stand between their neighbours and not ahead."""
    moved = [day for one in (own[0], own[-1]) if (day := in_year(one, one.year + years)) is not None]
    return (
        len(moved) == 2
        and max(moved) <= taken_on
        and all(any(abs((day - other).days) <= NEAR for day in moved) for other in beside)
    )


def _apart(days: dict[int, date], rows: dict[int, int], taken_on: date, *, slips: bool) -> set[int]:
    """The few rows at either end of all days that a long gap parts from the rest.

    `slips`: also where no more than a year's number may be wrong; else only where no closure explains the gap.
    """
    total = sum(rows[place] for place in days)
    order = sorted(days, key=lambda place: days[place])
    found: set[int] = set()
    for from_end in (order, order[::-1]):
        count = 0
        for n, (place, after) in enumerate(pairwise(from_end), start=1):
            count += rows[place]
            if count > max(1, FEW * total) or total - count < ENOUGH:
                break
            gap = abs((days[place] - days[after]).days)
            if gap <= (APART if slips else GONE_WRONG):
                continue
            rest = sorted(days[one] for one in from_end[n:])
            longest = max((later - day).days for day, later in pairwise(rest))
            few = from_end[:n]
            if gap > 3 * longest and (gap > GONE_WRONG or all(_slips_into(days[one], rest, taken_on) for one in few)):
                found |= set(few)
    return found


def _slips_into(day: date, rest: Sequence[date], taken_on: date) -> bool:
    """Whether another year puts a day amid the rest."""
    return any(rest[0] <= one <= rest[-1] for one in _other_years(day, rest, taken_on))


def _beside(place: int, sound: dict[int, date], *, whole: bool) -> list[date]:
    """The days of the rows before and after, or of all others."""
    if whole or not sound:
        return sorted({min(sound.values()), max(sound.values())}) if sound else []
    before = [day for other, day in sound.items() if other < place][-NEIGHBOURS:]
    return before + [day for other, day in sound.items() if other > place][:NEIGHBOURS]


def _likely(day: date, beside: Sequence[date], taken_on: date) -> date | None:
    """The day one slip away that stands nearest to its neighbours; without any, that nearest to the intake."""
    if not beside:
        years = [one for one in _other_years(day, [taken_on], taken_on) if one <= taken_on]
        return max(years, default=None)
    first, last = (edge + timedelta(days=NEAR * sign) for edge, sign in ((min(beside), -1), (max(beside), 1)))
    middle = median(one.toordinal() for one in beside)
    kinds = (_other_years(day, beside, taken_on), _turned(day, beside), _digits(day))
    for slips in kinds:  # the commonest slip first
        fit = [one for one in slips if first <= one <= min(last, taken_on) and one != day]
        if fit:
            return min(fit, key=lambda one: (abs(one.toordinal() - middle), one))
    return None


def _other_years(day: date, beside: Sequence[date], taken_on: date) -> list[date]:
    """The same day of the years of its neighbours, and of the intake's."""
    years = {one.year for one in beside} | {taken_on.year, taken_on.year - 1}
    return [one for year in sorted(years - {day.year}) if (one := in_year(day, year)) is not None]


def _turned(day: date, beside: Sequence[date]) -> list[date]:
    """Day and month changed about."""
    years = sorted({day.year, *(one.year for one in beside)})
    return [date(year, day.day, day.month) for year in years if day.day <= 12] if day.day != day.month else []


def _digits(day: date) -> Iterator[date]:
    """One digit of day or month another one."""
    text = f"{day:%m%d}"
    for place in range(4):
        for digit in "0123456789":
            other = text[:place] + digit + text[place + 1 :]
            try:
                yield date(day.year, int(other[:2]), int(other[2:]))
            except ValueError:
                continue
