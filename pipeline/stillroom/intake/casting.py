"""Text to typed columns, without guessing: what cannot be read as its type becomes null and is reported."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, time
from functools import partial
from typing import Any, Final

import polars as pl

from stillroom.intake import months

Reader = Callable[[pl.Series], pl.Series]
"""Texts to moments; null where it cannot read one."""
ISO_MOMENTS: Final = (
    "%Y-%m-%d %H:%M:%S",
    "%Y-%m-%d %H:%M:%S%.f",
    "%Y-%m-%dT%H:%M:%S%.f",
    "%Y-%m-%d %H:%M",
    "%Y-%m-%dT%H:%M",
)
# '€', 'US$', 'EUR', and what people write for crowns, francs, forints, lei and zlotys.
CURRENCY: Final = r"(?:[A-Z]{0,3}\p{Sc}|[A-Z]{3}|S?Fr\.?|kr\.?|Kč|Ft|lei|zł)"
NAMED_MONTH: Final = "%[-_0]?[bBh]"
EARLIEST: Final = datetime(1900, 1, 1)  # '26-03-01' would be read as the year 26

READABLE_AS: Final[dict[Any, str]] = {
    pl.Float64: "a number (write 1234.5)",
    pl.Int64: "a whole number",
    pl.Date: "a date",
    pl.Datetime: "a date with a time of day",
}


@dataclass(frozen=True, kw_only=True)
class Clock:
    """How a file writes dates and times, and what clock they are on."""

    date_format: str | None
    """strftime codes; ISO 8601 when None."""
    house_zone: str
    file_zone: str | None
    """The clock of times without an offset; the house's own when None."""
    evening_ends: time | None = None
    """Where dates are business days: times before this one are of the calendar's day after."""


def tidy(text: pl.Series) -> pl.Series:
    """Trim, fold inner white space to one space, compose accents (NFC), and make empty cells null."""
    if text.str.contains(r"^\s|\s$|\s\s|[^\S ]").any():
        text = text.str.strip_chars().str.replace_all(r"\s+", " ")
    if (text.str.len_bytes() > text.str.len_chars()).any():
        text = text.str.normalize("NFC")
    return text.set(text == "", None)


def bare(text: pl.Series, column: str) -> pl.Series:
    """Cells without what says no more than their column's name: '40 %' of abv_pct, '52.5°' of brix, 'v2' of version."""
    if column.endswith("_pct") or column == "brix":
        return text.str.replace(r"\s*(?:%|°(?:\s?(?i:Bx|Brix))?)$", "")
    return text.str.replace(r"(?i)^v\.?\s*(\d+)$", "$1") if column.startswith("version") else text


def spelt_as(text: pl.Series, allowed: Sequence[str]) -> pl.Series:
    """Cells as the words of a list are spelt, compared without case; true and false for yes and no."""
    words = {word.casefold(): word for word in allowed}
    if words.keys() == {"yes", "no"}:
        words |= {"true": "yes", "y": "yes", "false": "no", "n": "no"}
    plain = text.str.to_lowercase()
    return _where(plain.is_in(list(words)), plain.replace(words), text)


def cast(text: pl.Series, dtype: pl.DataType, clock: Clock, decimal: str | None = None) -> pl.Series:
    """A tidy text column as `dtype`; null where it cannot be read so.

    Dates are ISO 8601, or the clock's format. A moment with an offset, or of a file on another clock, is moved to the
    house's; the result never carries a zone. `decimal` None: a dot parts decimals; what a comma parts is not known.
    """
    if dtype == pl.String:
        return text
    if dtype == pl.Float64:
        return _numbers(text, decimal)
    if dtype == pl.Int64:
        return _whole_numbers(text)
    days = _days(text, dtype, clock)
    if clock.date_format is not None and re.search(NAMED_MONTH, clock.date_format):
        left = (days.is_null() & text.is_not_null()).arg_true()
        if len(left):
            days = days.scatter(left, _with_named_months(text.gather(left), dtype, clock))
    return days


def unreadable(dtype: pl.DataType, clock: Clock) -> str:
    """What to say of a cell that could not be read as `dtype`."""
    words = READABLE_AS[dtype.base_type()]
    if dtype == pl.Date:
        words += f" (written like {clock.date_format or '2026-03-31'})"
    if dtype == pl.Datetime:
        words += f" (written like {clock.date_format or '2026-03-31 21:05'})"
    return f"cannot be read as {words}"


def _days(text: pl.Series, dtype: pl.DataType, clock: Clock) -> pl.Series:
    return _dates(text, clock.date_format) if dtype == pl.Date else _moments(text, clock)


def _with_named_months(text: pl.Series, dtype: pl.DataType, clock: Clock) -> pl.Series:
    """Days whose months are named in other languages, or shortened with a full stop."""
    english = months.in_english(text)
    days = _days(english, dtype, clock)
    return days.fill_null(_days(months.without_full_stops(english), dtype, clock)) if days.null_count() else days


def _numbers(text: pl.Series, decimal: str | None) -> pl.Series:
    """Finite numbers; where plain reading fails, without currency signs, thousands marks and accountants' brackets."""
    plain = text
    if decimal == ",":
        plain = text.set(text.str.contains(".", literal=True), None).str.replace(",", ".", literal=True)
    numbers = plain.cast(pl.Float64, strict=False)
    left = (numbers.is_null() & text.is_not_null()).arg_true()
    if len(left):
        numbers = numbers.scatter(left, _dressed_numbers(text.gather(left), decimal))
    infinite = ~numbers.is_finite()
    return numbers.set(infinite, None) if infinite.any() else numbers


def _dressed_numbers(text: pl.Series, decimal: str | None) -> pl.Series:
    """Numbers as people write them: '€ 1 234.50', '(12.50)', '12.50-', '1,234.50'; null where that is not certain.

    Thousands are parted in groups of three: by spaces and apostrophes, and by a comma (or, with decimal = ",", a dot)
    beside a decimal mark. '1,234' alone may be either, and is not guessed unless the decimal mark is known. A dash for
    no cents ('21.-') is no minus.
    """
    known, decimal = decimal is not None, decimal or "."
    thousands = "," if decimal == "." else "."
    bare = text.str.replace_all("[\u2012-\u2014\u2212]", "-")
    bare = bare.str.replace(rf"^([-+(]?)\s*{CURRENCY}", "$1").str.replace(rf"{CURRENCY}\s*([-)]?)$", "$1")
    bare = bare.str.strip_chars().str.replace(r"(\d)[.,:]-{1,2}$", "$1")
    minus = bare.str.contains(r"^\([^-+()]*\)$|^[^-+()]*-$")  # a sign and brackets may mean anything
    bare = _where(minus, bare.str.replace_all(r"[()-]", ""), bare).str.strip_chars()
    bare = bare.str.replace(r"^([-+])\s+", "$1")
    apart = rf"^[-+]?\d{{1,3}}(?:[\s'’]\d{{3}})+(?:{re.escape(decimal)}\d+)?$"
    bare = _where(bare.str.contains(apart), bare.str.replace_all(r"[\s'’]", ""), bare)
    grouped = rf"^[-+]?\d{{1,3}}(?:{re.escape(thousands)}\d{{3}})+{re.escape(decimal)}\d+$"
    bare = _where(bare.str.contains(grouped), bare.str.replace_all(thousands, "", literal=True), bare)
    whole_groups = rf"^[-+]?\d{{1,3}}(?:{re.escape(thousands)}\d{{3}})+$"
    if known:  # the other mark can only part thousands
        bare = _where(bare.str.contains(whole_groups), bare.str.replace_all(thousands, "", literal=True), bare)
    if decimal == ",":
        bare = bare.set(bare.str.contains(thousands, literal=True), None).str.replace(",", ".", literal=True)
    plain = bare.set(~bare.str.contains(r"^[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?$"), None)
    numbers = plain.cast(pl.Float64, strict=False)
    return _where(minus, -numbers, numbers)


def _where(test: pl.Series, yes: pl.Series, no: pl.Series) -> pl.Series:
    return pl.select(pl.when(test).then(yes).otherwise(no)).to_series()


def _whole_numbers(text: pl.Series) -> pl.Series:
    whole = text.cast(pl.Int64, strict=False)
    if whole.null_count() > text.null_count():  # spreadsheets write 2 as 2.0
        numbers = text.cast(pl.Float64, strict=False)
        integral = (numbers == numbers.floor()) & (numbers.abs() < 2**53)
        whole = whole.fill_null(numbers.set(~integral, None).cast(pl.Int64, strict=False))
    return whole


def _dates(text: pl.Series, date_format: str | None) -> pl.Series:
    dates = text.str.to_date(date_format or "%Y-%m-%d", strict=False, exact=True)
    if _iso_too(date_format) and dates.null_count() > text.null_count():
        dates = dates.fill_null(text.str.to_date("%Y-%m-%d", strict=False, exact=True))
        # Spreadsheets add a midnight.
        moments = _by_the_first_that_fits(text, ISO_READERS)
        midnight = (moments.dt.hour() == 0) & (moments.dt.minute() == 0) & (moments.dt.second() == 0)
        dates = dates.fill_null(moments.set(~midnight, None).dt.date())
    return dates.set(dates < EARLIEST.date(), None)


def _moments(text: pl.Series, clock: Clock) -> pl.Series:
    if clock.date_format is None:
        return _plausible(
            _by_the_first_that_fits(text, (partial(_iso, clock=clock), partial(_with_offset, clock=clock)))
        )
    if "%p" in clock.date_format:
        text = text.str.replace(r"(?i)\b([ap])\. ?m\.", "${1}m")
    moments = text.str.to_datetime(clock.date_format, time_unit="us", strict=False)
    if moments.dtype != pl.Datetime("us"):  # the format holds an offset
        return _plausible(moments.dt.convert_time_zone(clock.house_zone).dt.replace_time_zone(None))
    moments = _on_the_house_clock(moments, clock)
    left = (moments.is_null() & text.is_not_null()).arg_true()
    if len(left) and _iso_too(clock.date_format):
        moments = moments.scatter(left, _moments(text.gather(left), replace(clock, date_format=None)))
    return _plausible(moments)


def _written(moment_format: str) -> Reader:
    return lambda text: text.str.to_datetime(moment_format, time_unit="us", strict=False, cache=False)


ISO_READERS: Final = tuple(_written(one) for one in ISO_MOMENTS)


def _iso(text: pl.Series, clock: Clock) -> pl.Series:
    """ISO 8601 without an offset, on the file's clock."""
    return _on_the_house_clock(_by_the_first_that_fits(text, ISO_READERS), clock)


def _on_the_house_clock(moments: pl.Series, clock: Clock) -> pl.Series:
    if clock.evening_ends is not None:
        late = moments.dt.time() < clock.evening_ends
        moments = _where(late, moments.dt.offset_by("1d"), moments)
    if clock.file_zone is not None:
        # In the doubled hour of autumn the earlier reading is taken; the hour that spring skips is no time at all.
        moments = moments.dt.replace_time_zone(clock.file_zone, ambiguous="earliest", non_existent="null")
        moments = moments.dt.convert_time_zone(clock.house_zone).dt.replace_time_zone(None)
    return moments


def _iso_too(date_format: str | None) -> bool:
    """Cells that are dates by type come as ISO 8601 whatever the file's texts look like, and can mean one day only.

    A format of years and then days is the exception: there 2026-03-04 means the third of April.
    """
    return date_format is None or "%Y-%d" not in date_format


def _plausible(moments: pl.Series) -> pl.Series:
    early = moments < EARLIEST
    return moments.set(early, None) if early.any() else moments


def _by_the_first_that_fits(text: pl.Series, readers: Sequence[Reader]) -> pl.Series:
    """Each cell as the first reader has it that can read it; the one that reads the first cell is asked first.

    No cell may mean different moments to two of the readers.
    """
    first = text.drop_nulls().head(1)
    likely = next((read for read in readers if not read(first).has_nulls()), readers[0])
    moments = likely(text)
    for read in readers:
        left = (moments.is_null() & text.is_not_null()).arg_true()
        if not len(left):
            break
        if read is not likely:
            moments = moments.scatter(left, read(text.gather(left)))
    return moments


def _with_offset(text: pl.Series, clock: Clock) -> pl.Series:
    """ISO 8601 with an offset or Z, moved to the house's clock."""
    moments = _by_the_first_that_fits(text, (_offset_in_full, _offset_in_short))
    return moments.dt.convert_time_zone(clock.house_zone).dt.replace_time_zone(None)


def _offset_in_full(text: pl.Series) -> pl.Series:
    return text.str.replace(" ", "T", literal=True).str.to_datetime("%+", time_unit="us", strict=False)


def _offset_in_short(text: pl.Series) -> pl.Series:
    """Without seconds, or with an offset of hours alone, as PostgreSQL writes it: +01 for +01:00."""
    whole = text.str.replace(r"([ T]\d\d:\d\d)(Z|[+-])", "$1:00$2").str.replace(r"(:\d\d(?:\.\d+)?[+-]\d\d)$", "$1:00")
    return _offset_in_full(whole)
