"""Text to dates and moments: in the format that the settings give, and in ISO 8601; nothing is guessed."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from functools import partial
from typing import Final

import polars as pl

from stillroom.intake import months

Reader = Callable[[pl.Series], pl.Series]
"""Texts to moments; null where it cannot read one."""
ISO_FORMATS: Final = (
    "%Y-%m-%d %H:%M:%S",
    "%Y-%m-%d %H:%M:%S%.f",
    "%Y-%m-%dT%H:%M:%S%.f",
    "%Y-%m-%d %H:%M",
    "%Y-%m-%dT%H:%M",
)
SAMPLE: Final = 50
SERIAL: Final = "serial"
"""In the place of a format: dates are a spreadsheet's day numbers, of which 1 is the last day of 1899."""
DAY_NONE: Final = datetime(1899, 12, 30)  # Office Open XML, part 1, 18.17.4.1, and 1900 taken for a leap year
NAMED_YEAR: Final = f"%[-_0]?[YyCGgcDxFs+]|^{SERIAL}$"
TIMED: Final = r"(?i):|\d(?:,? +|T)\d{1,2}[.h]\d\d|\dT\d|\d ?[ap]\.? ?m\b|\d ?h\b|\d{9}|^\d{5}[.,]\d"
"""Of cells that hold more than a day: a clock's time, or a serial number or stamp with a time in it."""
NAMED_HOUR: Final = r"[ ,T]+%[-_0]?[HIkl].*$"
TIME_BEHIND: Final = r"(?i)(\d)(?:,? +|T)\d{1,2}[:.h]\d\d(?:[:.]\d\d)?(?: ?[ap]\.? ?m\.?)?$"
MIDNIGHT_BEHIND: Final = r"(?i)(?:,? +|T)(?:0?0:00(?::00(?:\.0+)?)?|12:00(?::00)? ?a\.? ?m\.?)$"
NAMED_MONTH: Final = "%[-_0]?[bBh]"
EARLIEST: Final = datetime(1900, 1, 1)  # '26-03-01' would be read as the year 26
LATEST: Final = datetime.max  # an offset moves the last evening of 9999 beyond what Python can hold


@dataclass(frozen=True, kw_only=True)
class Clock:
    """How a file writes dates and times, and what clock they are on."""

    date_format: str | None
    """strftime codes; ISO 8601 when None."""
    house_zone: str
    file_zone: str | None
    """The clock of times without an offset; the house's own when None."""
    year: int | None = None
    """The year of dates that are written without one: that of the first."""
    year_turns: bool | None = None
    """Whether such dates run from one year into the next; None: nobody has said, and those that may are not read."""
    evening_ends: time | None = None
    """Where dates are business days: times before this one are of the calendar's day after."""
    day_begins: time | None = None
    """Where rows are of whole days, and have no time: the moment of each is that at which its day begins."""


def read(text: pl.Series, dtype: pl.DataType, clock: Clock) -> pl.Series:
    """Tidy cells as dates or moments, in the clock's format or else ISO 8601; null where they are neither.

    A moment with an offset, or of a file on another clock, is moved to the house's; the result never carries a zone.
    """
    if clock.day_begins is not None and dtype != pl.Date:
        return _begins(text, clock, clock.day_begins)
    if clock.date_format is None:
        return _iso(text, dtype, clock)
    days = written(text, dtype, clock)
    # Cells that are dates by type come as ISO 8601 whatever the file's texts look like, and can mean one day only. A
    # format of years and then days is the exception: there 2026-03-04 means the third of April.
    left = unread(days, text)
    if len(left) and "%Y-%d" not in clock.date_format:
        days = days.scatter(left, _iso(text.gather(left), dtype, clock))
    return days


def _begins(text: pl.Series, clock: Clock, day_begins: time) -> pl.Series:
    """When the days begin that cells are; null where one has a time of day, but for the midnight of spreadsheets."""
    days = read(without_times(text), pl.Date(), clock).cast(pl.Datetime("us"))
    return days + timedelta(hours=day_begins.hour, minutes=day_begins.minute)


def without_times(text: pl.Series) -> pl.Series:
    """Cells without the midnight that spreadsheets add to a day; null where another time, or an offset, stands there.

    >>> without_times(pl.Series(["2026-03-04 00:00:00", "4/3/2026", "4/3/2026 20:15"])).to_list()
    ['2026-03-04', '4/3/2026', None]
    """
    bare = text.str.replace(MIDNIGHT_BEHIND, "")
    return bare.set(bare.str.contains(TIMED).fill_null(False), None)


def written(text: pl.Series, dtype: pl.DataType, clock: Clock) -> pl.Series:
    """Tidy cells as dates or moments in the clock's own format alone, months named in any language that is known."""
    date_format = clock.date_format or ""
    if date_format == SERIAL:
        return _numbered(text, dtype, clock)
    years = clock.year is not None and not re.search(NAMED_YEAR, date_format)
    tail = f" {clock.year}" if years else ""
    date_format += " %Y" if years else ""
    days = _named(text + tail, dtype, clock, date_format)
    if len(left := unread(days, text)):
        others = text.gather(left)
        bare = months.without_weekday(others)
        if not bare.equals(others):
            days = days.scatter(left, _named(bare + tail, dtype, clock, date_format))
    if not years or clock.year_turns is False or dtype != pl.Date:
        return days
    turned = over_the_year(days)
    return turned if clock.year_turns else days.set(days.ne_missing(turned), None)


def _numbered(text: pl.Series, dtype: pl.DataType, clock: Clock) -> pl.Series:
    """Day numbers of five digits (from 1927 on) as dates, or with a part of a day as moments, to the second."""
    numbers = text.set(~text.str.contains(r"^\d{5}(?:\.\d+)?$"), None).cast(pl.Float64, strict=False)
    seconds = (numbers * 86400).round().cast(pl.Int64, strict=False) * 1_000_000
    moments = pl.select(pl.lit(DAY_NONE) + seconds.cast(pl.Duration("us"))).to_series().alias(text.name)
    if dtype == pl.Date:
        return _plausible(moments.dt.date().set(numbers != numbers.floor(), None))
    return _plausible(_on_the_house_clock(moments, clock))


def over_the_year(days: pl.Series) -> pl.Series:
    """Dates that were put into the year of the first, each in the year that makes it nearest to the one above."""
    found: list[date | None] = []
    above: date | None = None
    for day in days:
        if day is not None and above is not None:
            day = _nearest(day, above)
        above = day or above
        found.append(day)
    return pl.Series(days.name, found, dtype=pl.Date)


def _nearest(day: date, above: date) -> date:
    near = [moved for year in (-1, 0, 1) if (moved := in_year(day, above.year + year)) is not None]
    return min(near, key=lambda one: abs(one - above), default=day)


def in_year(day: date, year: int) -> date | None:
    """The same day of another year; None of a 29th of February that it has not."""
    try:
        return day.replace(year=year)
    except ValueError:
        return None


def _named(text: pl.Series, dtype: pl.DataType, clock: Clock, date_format: str) -> pl.Series:
    """Cells in a format whose months may be named in any language that is known."""
    days = _in_the_format(text, dtype, clock, date_format)
    if not re.search(NAMED_MONTH, date_format) or not len(left := unread(days, text)):
        return days
    others = text.gather(left)
    english = months.in_english(others)
    named = days.gather(left)  # nothing but nulls
    for cells in (english, months.without_full_stops(english)):
        if not cells.equals(others):
            named = named.fill_null(_in_the_format(cells, dtype, clock, date_format))
    return days.scatter(left, named)


def day_alone(text: pl.Series) -> pl.Series:
    """Cells without the time of day behind the day.

    >>> day_alone(pl.Series(["04/03/2026, 08:05 AM", "2026-03-04"])).to_list()
    ['04/03/2026', '2026-03-04']
    """
    return text.str.replace(TIME_BEHIND, "$1")


def _in_the_format(text: pl.Series, dtype: pl.DataType, clock: Clock, date_format: str) -> pl.Series:
    if dtype == pl.Date:  # of a form's time stamp the day alone counts
        days_alone = re.sub(NAMED_HOUR, "", date_format)
        return _plausible(day_alone(text).str.to_date(days_alone, strict=False, exact=True))
    if "%p" in date_format:
        text = text.str.replace(r"(?i)\b([ap])\. ?m\.", "${1}m")
    moments = text.str.to_datetime(date_format, time_unit="us", strict=False)
    if moments.dtype != pl.Datetime("us"):  # the format holds an offset
        return _plausible(_without_zone(moments, clock))
    return _plausible(_on_the_house_clock(moments, clock))


def _iso(text: pl.Series, dtype: pl.DataType, clock: Clock) -> pl.Series:
    if dtype != pl.Date:
        ways = (partial(_without_offset, clock=clock), partial(_with_offset, clock=clock))
        return _plausible(_by_the_first_that_fits(text, ways))
    dates = text.str.to_date("%Y-%m-%d", strict=False, exact=True)
    left = unread(dates, text)
    if len(left):  # spreadsheets add a midnight, and forms the time at which they were sent
        dates = dates.scatter(left, _by_the_first_that_fits(text.gather(left), ISO_READERS).dt.date())
    return _plausible(dates)


def unread(days: pl.Series, text: pl.Series) -> pl.Series:
    """The places of filled cells that were not read."""
    if days.null_count() == text.null_count():  # no cell is read that is not filled
        return pl.Series([], dtype=pl.UInt32)
    return (days.is_null() & text.is_not_null()).arg_true()


def _plausible(days: pl.Series) -> pl.Series:
    earliest, latest = (one.date() if days.dtype == pl.Date else one for one in (EARLIEST, LATEST))
    odd = (days < earliest) | (days > latest)
    return days.set(odd, None) if odd.any() else days


def _on_the_house_clock(moments: pl.Series, clock: Clock) -> pl.Series:
    if clock.evening_ends is not None:
        late = (moments.dt.time() < clock.evening_ends).arg_true()
        moments = moments.scatter(late, moments.gather(late).dt.offset_by("1d"))
    if clock.file_zone is not None:
        # In the doubled hour of autumn the earlier reading is taken; the hour that spring skips is no time at all.
        moments = moments.dt.replace_time_zone(clock.file_zone, ambiguous="earliest", non_existent="null")
        moments = _without_zone(moments, clock)
    return moments


def _without_zone(moments: pl.Series, clock: Clock) -> pl.Series:
    return moments.dt.convert_time_zone(clock.house_zone).dt.replace_time_zone(None)


def _by_the_first_that_fits(text: pl.Series, readers: Sequence[Reader]) -> pl.Series:
    """Each cell as the first reader has it that can read it; the one that reads most of the first cells is asked first.

    No cell may mean different moments to two of the readers.
    """
    first = text.drop_nulls().head(SAMPLE)
    likely = next((reader for reader in readers if not reader(first).has_nulls()), None)
    likely = likely or min(readers, key=lambda reader: reader(first).null_count())
    moments = likely(text)
    for reader in readers:
        left = unread(moments, text)
        if not len(left):
            break
        if reader is not likely:
            moments = moments.scatter(left, reader(text.gather(left)))
    return moments


def _reader(moment_format: str) -> Reader:
    return lambda text: text.str.to_datetime(moment_format, time_unit="us", strict=False, cache=False)


ISO_READERS: Final = tuple(_reader(one) for one in ISO_FORMATS)


def _without_offset(text: pl.Series, clock: Clock) -> pl.Series:
    """ISO 8601 on the file's clock."""
    return _on_the_house_clock(_by_the_first_that_fits(text, ISO_READERS), clock)


def _with_offset(text: pl.Series, clock: Clock) -> pl.Series:
    """ISO 8601 with an offset or Z."""
    return _without_zone(_by_the_first_that_fits(text, (_offset_in_full, _offset_in_short)), clock)


def _offset_in_full(text: pl.Series) -> pl.Series:
    return text.str.replace(" ", "T", literal=True).str.to_datetime("%+", time_unit="us", strict=False)


def _offset_in_short(text: pl.Series) -> pl.Series:
    """Without seconds, or with an offset of hours alone, as PostgreSQL writes it: +01 for +01:00."""
    whole = text.str.replace(r"([ T]\d\d:\d\d)(Z|[+-])", "$1:00$2").str.replace(r"(:\d\d(?:\.\d+)?[+-]\d\d)$", "$1:00")
    return _offset_in_full(whole)
