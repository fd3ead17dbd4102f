"""Which days the columns of a week are: 'Mon ... Sun' below 'week commencing 2 March 2026', or in 'KW 10 2026'.

Nothing is guessed: a day is known only where it is the weekday of the first column (or, where the text speaks of an
end, of the last), so that 02/03/2026 above Mon can mean one day alone. Numbers of weeks are those of ISO 8601.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import date, timedelta
from typing import Final

import polars as pl

from stillroom.intake import moments, months
from stillroom.intake.moments import Clock
from stillroom.intake.parting import DAY

NUMBERED: Final = re.compile(
    r"(?i)(?:\b|(?<=\d)|_)(?:kw|w|wk|week|woche|kalenderwoche|semaine|sem|semana|settimana|vecka|v|uge|uke|tydzień|týden"
    r"|hét|hafta|viikko|vko|săptămâna)[\s.:#-]*(?:n[ro]?[.º°]?\s*)?(\d{1,2})(?!\d)"
)
YEAR: Final = re.compile(r"(?<!\d)20\d\d(?!\d)")
END: Final = re.compile(r"(?i)\bend|\bw/?e\b|\bbis\b|fin\b|fine\b|slut")
FORMATS: Final = (
    *("%Y-%m-%d", "%d/%m/%Y", "%m/%d/%Y", "%d.%m.%Y", "%d-%m-%Y", "%m-%d-%Y", "%d/%m/%y", "%m/%d/%y", "%d.%m.%y"),
    *("%d %B %Y", "%d. %B %Y", "%d de %B de %Y", "%B %d, %Y", "%d %b %Y", "%b %d, %Y"),
)
WEEK: Final = 7


def days_of(headings: Sequence[str], said: str) -> dict[str, date]:
    """The day of each heading that is a weekday; none where what is said around the rows does not tell the week.

    >>> found = days_of(["Mon", "Tue", "Sun"], "w/c 02/03/2026")
    >>> [day.isoformat() for day in found.values()]
    ['2026-03-02', '2026-03-03', '2026-03-08']
    >>> days_of(["Mo", "So"], "Zählung KW 10/2026")["So"], days_of(["Mon", "Sun"], "w/c 03/03/2026")
    (datetime.date(2026, 3, 8), {})
    """
    numbers = months.weekdays(headings)
    if len(numbers) < 2:
        return {}
    first, last = numbers[0], numbers[-1]
    places = [(number - first) % WEEK for number in numbers]
    if places != sorted(set(places)):
        return {}  # they are no days of one week in their order
    named = {day for day in _days_in(said) if day.isoweekday() == first}
    if not named and END.search(said):
        named = {day - timedelta(days=places[-1]) for day in _days_in(said) if day.isoweekday() == last}
    if not named and first + places[-1] <= WEEK:
        named = _mondays(said, first)
    if len(named) != 1:
        return {}
    [begins] = named
    return {heading: begins + timedelta(days=place) for heading, place in zip(headings, places, strict=True)}


def _days_in(said: str) -> set[date]:
    """All days that a text can mean."""
    found = {one[0].strip() for one in DAY.finditer(said)}
    years = set(YEAR.findall(said))
    if len(years) == 1:
        found |= {f"{one} {next(iter(years))}" for one in found if not YEAR.search(one)}
    cells = pl.Series(sorted(found), dtype=pl.String)
    read = (moments.written(cells, pl.Date(), Clock(date_format=f, house_zone="UTC", file_zone=None)) for f in FORMATS)
    return {day for days in read for day in days.drop_nulls()}


def _mondays(said: str, first: int) -> set[date]:
    """The first column's day in the weeks that a text numbers, of the one year that it names."""
    weeks, years = {int(one) for one in NUMBERED.findall(said)}, {int(one) for one in YEAR.findall(said)}
    if len(weeks) != 1 or len(years) != 1:
        return set()
    try:
        return {date.fromisocalendar(years.pop(), weeks.pop(), first)}
    except ValueError:  # no year has so many
        return set()
