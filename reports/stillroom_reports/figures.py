"""How one value is written for a reader: numbers, dates, what is missing."""

from __future__ import annotations

import math
import re
import textwrap
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from typing import Final

from stillroom.objects import Column, Period

MISSING: Final = "–"
THIN_SPACE: Final = "\u202f"
"""Narrow no-break space between groups of three digits, as ISO 80000-1 asks for."""
MINUS: Final = "\u2212"
NO_BREAK: Final = "\u00a0"
_SPACE_AT_UNIT: Final = re.compile(r"(?<=\d) (?=(?:ml|cl|l|mg|g|kg|pieces?|°Brix|points?)\b|%)|(?<=\b[A-Z]{3}) (?=\d)")
_SPACE_IN_NUMBER: Final = re.compile(r"(?<=\d)[\u2009 ](?=\d{3}(?!\d))")
_MONTHS: Final = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


def value_text(value: object, column: Column) -> str:
    """The value as a table cell shows it; null, NaN and infinity are a dash.

    >>> value_text(-1234.5, Column(label="Change", decimals=1, signed=True)) == f"{MINUS}1{THIN_SPACE}234.5"
    True
    >>> value_text(0.256, Column(label="Share", percent=True, decimals=0))
    '26'
    """
    if value is None:
        return MISSING
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int | float | Decimal):
        return number_text(value, column)
    if isinstance(value, datetime):
        return f"{day_text(value.date())} {value:%H:%M}"
    if isinstance(value, date):
        return day_text(value)
    if isinstance(value, time):
        return f"{value:%H:%M}"
    if isinstance(value, timedelta):
        return f"{value / timedelta(days=1):.1f} days"
    if isinstance(value, list | tuple):
        return ", ".join(value_text(part, column) for part in value)
    return str(value)


def number_text(value: float | Decimal, column: Column) -> str:
    """A number with the column's decimals and sign, a thin space between thousands."""
    if not math.isfinite(value):
        return MISSING
    if column.p_value:
        return p_text(value, 4 if column.decimals is None else column.decimals)
    if column.percent:
        value = value * 100
    digits = _digits(value, 0 if column.percent and column.decimals is None else column.decimals)
    negative = digits.startswith("-")
    digits = digits.lstrip("-").replace(",", THIN_SPACE)
    if not digits.strip(f"0.{THIN_SPACE}"):
        return digits  # neither -0 nor +0
    sign = MINUS if negative else "+" if column.signed else ""
    return f"{sign}{digits}"


def grouped(value: float) -> str:
    """A number without decimals, thousands apart; cents where it is below 10.

    >>> grouped(79167.2) == f"79{THIN_SPACE}167", grouped(4.594)
    (True, '4.59')
    """
    return number_text(value, Column(label="", decimals=0 if abs(value) >= 10 or value == 0 else 2))


def p_text(p: float | Decimal, decimals: int) -> str:
    """A p-value, never as 0.

    >>> p_text(0.03124, 3), p_text(0.00004, 4)
    ('0.031', '<\u00a00.0001')
    """
    least = 10**-decimals
    return f"<{NO_BREAK}{least:.{decimals}f}" if p < least else f"{p:.{decimals}f}"


def _digits(value: float | Decimal, decimals: int | None) -> str:
    if decimals is not None:
        return f"{value:,.{max(decimals, 0)}f}"
    if isinstance(value, int):
        return f"{value:,}"
    # As it is, without the tail that binary fractions leave (0.1 + 0.2) and never in powers of ten.
    return f"{value:,.10f}".rstrip("0").rstrip(".")


def heading_unit(column: Column) -> str:
    """The unit to show beside the column's label; '' where there is none."""
    return column.unit or ("%" if column.percent else "")


def unbroken(text: str) -> str:
    """The text with spaces inside a number, and between it and its unit or currency, that no line breaks at.

    >>> unbroken("12\u2009345 ml, 8 % of EUR 5") == f"12{THIN_SPACE}345\u00a0ml, 8\u00a0% of EUR\u00a05"
    True
    """
    return _SPACE_AT_UNIT.sub(NO_BREAK, _SPACE_IN_NUMBER.sub(THIN_SPACE, text))


def wrapped(text: str, width: int, first: str, then: str) -> list[str]:
    """Lines for a terminal, of at most `width`, that part no number from its unit; every space a plain one.

    >>> wrapped("about 1\u2009250 ml on hand", 12, "", "  ")
    ['about', '  1 250 ml', '  on hand']
    """
    lines = textwrap.wrap(
        unbroken(text).replace(THIN_SPACE, NO_BREAK), width, initial_indent=first, subsequent_indent=then
    )
    return [line.replace(NO_BREAK, " ") for line in lines]


def day_text(day: date) -> str:
    """A day that cannot be misread for another order of day and month.

    >>> day_text(date(2026, 3, 2))
    '2 Mar 2026'
    """
    return f"{day.day} {_MONTHS[day.month - 1]} {day.year}"


def short_day(day: date) -> str:
    """A day where the year is plain.

    >>> short_day(date(2026, 3, 2))
    '2 Mar'
    """
    return f"{day.day} {_MONTHS[day.month - 1]}"


def period_text(period: Period) -> str:
    """Both ends of a period and its length.

    >>> period_text(Period(first=date(2026, 3, 2), last=date(2026, 5, 31), label="Spring"))
    '2 Mar to 31 May 2026, 91 days'
    """
    if period.days == 1:
        return f"{day_text(period.first)}, 1 day"
    first = day_text(period.first)
    if period.first.year == period.last.year:
        first = first.removesuffix(f" {period.first.year}")
    return f"{first} to {day_text(period.last)}, {period.days} days"


def plain_value(value: object) -> object:
    """The value as JSON and CSV carry it: dates in ISO 8601, nothing that is not a finite number.

    >>> plain_value([date(2026, 3, 2), float("nan"), Decimal("1.5")])
    ['2026-03-02', None, 1.5]
    """
    if value is None or isinstance(value, str | bool | int):
        return value
    if isinstance(value, float | Decimal):
        return float(value) if math.isfinite(value) else None
    if isinstance(value, date | time):  # a datetime is a date
        return value.isoformat()
    if isinstance(value, timedelta):
        return value.total_seconds()
    if isinstance(value, dict):
        return {str(name): plain_value(part) for name, part in value.items()}
    if isinstance(value, list | tuple):
        return [plain_value(part) for part in value]
    return str(value)
