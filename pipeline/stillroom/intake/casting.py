"""Text to typed columns, without guessing: what cannot be read as its type becomes null and is reported."""

from __future__ import annotations

from typing import Any, Final

import polars as pl

ISO_MOMENTS: Final = ("%Y-%m-%d %H:%M:%S%.f", "%Y-%m-%dT%H:%M:%S%.f", "%Y-%m-%d %H:%M", "%Y-%m-%dT%H:%M")
EARLIEST_YEAR: Final = 1900  # '26-03-01' would be read as the year 26

READABLE_AS: Final[dict[Any, str]] = {
    pl.Float64: "a number (write 1234.5)",
    pl.Int64: "a whole number",
    pl.Date: "a date",
    pl.Datetime: "a date with a time of day",
}


def tidy(text: pl.Series) -> pl.Series:
    """Trim, fold inner white space to one space, compose accents (NFC), and make empty cells null."""
    text = text.str.strip_chars()
    if text.str.contains(r"\s\s|[^\S ]").any():
        text = text.str.replace_all(r"\s+", " ")
    if text.str.contains(r"[^\x00-\x7F]").any():
        text = text.str.normalize("NFC")
    return text.set(text == "", None)


def cast(text: pl.Series, dtype: pl.DataType, *, date_format: str | None, time_zone: str) -> pl.Series:
    """A tidy text column as `dtype`; null where it cannot be read so.

    Dates are ISO 8601, or `date_format` (strftime codes) where one is set. A moment with an offset is
    moved to `time_zone`; the result never carries a zone.
    """
    if dtype == pl.String:
        return text
    if dtype == pl.Float64:
        numbers = text.cast(pl.Float64, strict=False)
        return numbers.set(~numbers.is_finite(), None)
    if dtype == pl.Int64:
        return _whole_numbers(text)
    if dtype == pl.Date:
        return _dates(text, date_format)
    return _moments(text, date_format, time_zone)


def unreadable(dtype: pl.DataType, date_format: str | None) -> str:
    """What to say of a cell that could not be read as `dtype`."""
    words = READABLE_AS[dtype.base_type()]
    if dtype == pl.Date:
        words += f" (written like {date_format or '2026-03-31'})"
    if dtype == pl.Datetime:
        words += f" (written like {date_format or '2026-03-31 21:05'})"
    return f"cannot be read as {words}"


def _whole_numbers(text: pl.Series) -> pl.Series:
    whole = text.cast(pl.Int64, strict=False)
    if whole.null_count() > text.null_count():  # spreadsheets write 2 as 2.0
        numbers = text.cast(pl.Float64, strict=False)
        integral = (numbers == numbers.floor()) & (numbers.abs() < 2**53)
        whole = whole.fill_null(numbers.set(~integral, None).cast(pl.Int64, strict=False))
    return whole


def _dates(text: pl.Series, date_format: str | None) -> pl.Series:
    dates = text.str.to_date(date_format or "%Y-%m-%d", strict=False, exact=True)
    if date_format is None and dates.null_count() > text.null_count():  # spreadsheets add a midnight
        moments = _first_that_fits(text, ISO_MOMENTS)
        midnight = (moments.dt.hour() == 0) & (moments.dt.minute() == 0) & (moments.dt.second() == 0)
        dates = dates.fill_null(moments.set(~midnight, None).dt.date())
    return dates.set(dates.dt.year() < EARLIEST_YEAR, None)


def _moments(text: pl.Series, date_format: str | None, time_zone: str) -> pl.Series:
    if date_format is not None:
        moments = text.str.to_datetime(date_format, time_unit="us", strict=False)
        if moments.dtype != pl.Datetime("us"):  # the format holds an offset
            moments = moments.dt.convert_time_zone(time_zone).dt.replace_time_zone(None)
    else:
        moments = _first_that_fits(text, ISO_MOMENTS)
        if moments.null_count() > text.null_count():
            moments = moments.fill_null(_with_offset(text, time_zone))
    return moments.set(moments.dt.year() < EARLIEST_YEAR, None)


def _first_that_fits(text: pl.Series, formats: tuple[str, ...]) -> pl.Series:
    moments = text.str.to_datetime(formats[0], time_unit="us", strict=False)
    for one in formats[1:]:
        if moments.null_count() == text.null_count():
            break
        moments = moments.fill_null(text.str.to_datetime(one, time_unit="us", strict=False))
    return moments


def _with_offset(text: pl.Series, time_zone: str) -> pl.Series:
    """ISO 8601 with an offset or Z, moved to the house's clock."""
    moments = text.str.replace(" ", "T", literal=True).str.to_datetime("%+", time_unit="us", strict=False)
    return moments.dt.convert_time_zone(time_zone).dt.replace_time_zone(None)
