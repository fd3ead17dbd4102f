"""What most of the cells under a heading are: numbers, dates, amounts, prices."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Any, Final

import polars as pl

from stillroom.intake import amounts, casting, months
from stillroom.intake.amounts import Amount
from stillroom.intake.moments import Clock

MOST: Final = 0.6  # share of the cells that must be what a column holds: the rest may be what is set aside
SOME: Final = 0.3  # share of the cells that must be amounts: what is written beside them may be anything
DATE_LIKE: Final = (
    r"^\s*(?:\pL{2,13}[.,]{0,2} ?)?(\d{1,4}[-/. ]\d{1,2}[-/. ]\d{1,4}|\d{8}\b|\d{1,2}[-/.]\d{1,2}\.?$"
    r"|\d{1,2}[-/. ]*(?:de )?\pL{3,12}[-/., ]*(?:de )?\d{2,4}"
    r"|\pL{3,12}\.? \d{1,2},? \d{4}|\d{4}-?W\d\d-?\d$)"
)
NAMED_DAY: Final = (
    r"^\s*(?:\pL{2,13}[.,]{0,2} )?\d{1,2}\.? ?(?:de |d')?(\pL{3,12})\.?$",
    r"^\s*(\pL{3,12})\.? \d{1,2}\.?$",
)
"""A day and a word that may be its month."""
DAY_NUMBER: Final = r"^(?:[34]\d|5[0-4])\d{3}(?:\.\d+)?$"  # of a spreadsheet, from 1982 to 2050
TIME_OF_DAY: Final = r"(?i)^\s*\d{1,2}[:.h]\d\d([:.]\d\d)?(\s*[ap]\.? ?m\.?|\s*uhr)?\s*$"
PRICE: Final = r"^\D{0,5}\d[\d.,' ]*\s*\S{0,4}\s*(?:/|\b(?:per|pro|je|par|por|al|za|pr)\b)\s*\S"
SAMPLE: Final = 100  # cells that are read as amounts
WITH_TIME: Final = r"\d[:h]\d\d|\s\d{1,2}\.\d\d"


@dataclass(frozen=True, kw_only=True)
class Cells:
    """What most of the filled cells under a heading are."""

    filled: bool
    numbers: bool
    dates: bool
    """Days, or moments."""
    with_time: bool
    times: bool
    """Times of day alone."""
    amounts: bool = False
    """Numbers with units."""
    prices: bool = False
    """Prices of so much: '12 €/kg'."""
    digits: bool = False
    """Some cell has a digit: they are no units alone."""
    whole: bool = False
    """Every cell is filled."""
    example: str = ""
    """The first that is neither a number nor a date, or else the first."""

    def may_be(self, column: Any) -> bool:
        """Whether a column of a pandera schema may hold them."""
        dtype = column.dtype.type
        if column.name.endswith("unit") and self.numbers:
            return False
        if dtype == pl.String or not self.filled:
            return True
        if dtype in (pl.Date, pl.Datetime):
            return self.dates
        if (column.metadata or {}).get("unit_in"):
            return self.numbers or self.amounts
        return self.numbers or (self.prices and bool((column.metadata or {}).get("exact")))


def cells_of(cells: pl.Series) -> Cells:
    """What most of some cells are."""
    return _cells_of(tuple(cells))


@lru_cache(maxsize=512)  # a book's cells are held against every table
def _cells_of(cells: tuple[str | None, ...]) -> Cells:
    tidy = casting.narrow(casting.tidy(pl.Series(cells, dtype=pl.String)))
    filled = tidy.filter(tidy.is_not_null() & ~tidy.is_in(casting.ERRORS))
    absent = casting.are_absent(filled)
    filled = filled if absent.all() else filled.filter(~absent)
    clock = Clock(date_format=None, house_zone="UTC", file_zone=None)
    numbers = filled
    for column in ("_pct", "version", "_days", "score"):  # if it is such a column
        numbers = casting.bare(numbers, column)
    dot, comma = (casting.cast(numbers, pl.Float64(), clock, mark).is_not_null() for mark in (".", ","))
    few = filled.head(SAMPLE)
    amount = pl.Series([isinstance(amounts.read(cell, ","), Amount) for cell in few], dtype=pl.Boolean)
    return Cells(
        filled=not filled.is_empty(),
        whole=len(filled) == len(tidy),
        digits=bool(filled.str.contains(r"\d").any()),
        amounts=bool(amount.sum() >= SOME * len(amount) > 0),
        prices=_most(few.str.contains(PRICE)),
        numbers=_most(dot | comma),
        dates=_most(_like_days(filled), SOME),
        with_time=_most(filled.str.contains(WITH_TIME)),
        times=_most(filled.str.contains(TIME_OF_DAY)),
        example=next(iter([*filled.filter(~(dot | comma | filled.str.contains(DATE_LIKE))), *filled]), ""),
    )


def _like_days(cells: pl.Series) -> pl.Series:
    """Which cells may be days or moments; numbers only where all may be a spreadsheet's day numbers."""
    numbered = cells.str.contains(DAY_NUMBER)
    if len(cells) and numbered.all():
        return numbered
    hit = cells.str.contains(DATE_LIKE)
    for pattern in NAMED_DAY:
        words = cells.str.extract(pattern, 1)
        hit |= words.is_in([word for word in words.drop_nulls().unique() if months.is_month(word)]).fill_null(False)
    return hit


def _most(hit: pl.Series, share: float = MOST) -> bool:
    return len(hit) > 0 and float(hit.sum()) / len(hit) >= share
