"""Typed cells as the text that a CSV would hold: dates as ISO 8601, 2.0 as 2, true as yes, nothing as null.

A workbook, a Parquet file and a database know which of their cells are dates. Those come out as ISO 8601 whatever
the settings' date_format says: casting reads ISO 8601 too where a text does not fit that format.
"""

from __future__ import annotations

import json
import math
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from typing import Any

import polars as pl

YES, NO = "yes", "no"  # how the tables write true and false
BYTES = "(bytes)"  # in the place of bytes that are no text
NO_TEXT = "the row holds bytes that are no text"
LIST = "(a list)"  # in the place of a list
PROBLEMS = {BYTES: NO_TEXT, LIST: "the row holds a list where one value belongs"}
"""What stands in the place of something that no row can hold -> what is wrong with such a row."""


def cell_text(value: Any) -> str | None:
    """One Python value as text.

    Raises:
        ValueError: bytes that are no text.

    >>> [cell_text(v) for v in (2.0, 9.5, True, Decimal("9.50"), datetime(2026, 3, 31, 21, 5), None)]
    ['2', '9.5', 'yes', '9.50', '2026-03-31 21:05:00', None]
    """
    if value is None or isinstance(value, str):
        return value
    if isinstance(value, bool):
        return YES if value else NO
    if isinstance(value, float):
        if math.isnan(value):
            return None
        return str(int(value)) if value.is_integer() and abs(value) < 2**53 else repr(value)
    if isinstance(value, Decimal):
        return f"{value:f}"
    if isinstance(value, datetime):
        return value.isoformat(" ")
    if isinstance(value, date | time):
        return value.isoformat()
    if isinstance(value, timedelta):  # how MySQL hands over a time of day
        seconds, rest = divmod(abs(value), timedelta(seconds=1))
        fraction = f".{rest.microseconds:06}" if rest else ""
        sign = "-" if value < timedelta() else ""
        return f"{sign}{seconds // 3600:02}:{seconds // 60 % 60:02}:{seconds % 60:02}{fraction}"
    if isinstance(value, bytes | bytearray | memoryview):
        return bytes(value).decode("utf-8")
    if isinstance(value, dict | list):
        return json.dumps(value, ensure_ascii=False, default=str)
    return str(value)


def column_text(name: str, dtype: pl.DataType) -> pl.Expr:
    """A polars column as text; cells that hold lists as 'a list', or no text as 'bytes': never dropped in silence."""
    column = pl.col(name)
    if dtype == pl.String:
        return column
    if dtype == pl.Boolean:
        return pl.when(column).then(pl.lit(YES)).when(~column).then(pl.lit(NO)).alias(name)
    if dtype.is_float():
        whole = (column == column.floor()) & (column.abs() < 2**53)
        number = (
            pl.when(whole).then(column.cast(pl.Int64, strict=False).cast(pl.String)).otherwise(column.cast(pl.String))
        )
        return pl.when(~column.is_nan()).then(number).alias(name)
    if isinstance(dtype, pl.Datetime):
        return column.dt.strftime("%Y-%m-%d %H:%M:%S%.f" + ("%:z" if dtype.time_zone else ""))
    if dtype == pl.Binary:
        return column.map_elements(_decoded, return_dtype=pl.String)
    if dtype.is_nested():
        return pl.when(column.is_not_null()).then(pl.lit(LIST)).alias(name)
    return column.cast(pl.String)


def _decoded(cell: bytes) -> str:
    try:
        return cell.decode("utf-8")
    except UnicodeDecodeError:
        return BYTES
