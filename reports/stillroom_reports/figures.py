"""How one value is written for a reader: numbers, dates, what is missing."""

from __future__ import annotations

import math
from datetime import date, datetime, time, timedelta
from decimal import Decimal

from stillroom.objects import Column
from stillroom.words import MINUS, MISSING, THIN_SPACE, day_text, p_text


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
