"""Whether a cell can be in a date format, seen by its marks alone: most of a thousand formats need not be tried."""

from __future__ import annotations

import re
from functools import cache
from string import punctuation
from typing import Final, NamedTuple

from stillroom.intake.moments import SERIAL

FEWEST_OF_A_SERIAL: Final = 5  # digits: of days from 1927 on
_NUMBER = re.compile(r"%[dmYyGVuHIMS]")
_PART = re.compile(r"%\.f|%[A-Za-z]")
_LOSE = frozenset(".,")
"""Marks that may stand behind a shortened month or weekday, and are taken away before a cell is read."""


class Shape(NamedTuple):
    """What is seen of a cell."""

    marks: frozenset[str]
    """Every mark in it that is neither letter, digit nor space."""
    letters: bool
    runs: int
    """Numbers in it."""
    digits: int


@cache
def shape(cell: str) -> Shape:
    """What is seen of a cell.

    >>> sorted(shape("3. März 2026, 20:15").marks), shape("3. März 2026, 20:15").runs
    ([',', '.', ':'], 4)
    """
    marks = frozenset(cell).intersection(punctuation)
    letters = any(letter.isalpha() for letter in cell)
    return Shape(marks, letters, len(re.findall(r"\d+", cell)), sum(letter.isdecimal() for letter in cell))


def may_be_in(date_format: str, seen: Shape) -> bool:
    """Whether a cell of that shape can be in a format; where it cannot, no reading of it comes to a date.

    >>> may_be_in("%d/%m/%Y", shape("28/05/2026")), may_be_in("%d.%m.%Y", shape("28/05/2026"))
    (True, False)
    """
    if date_format == SERIAL:
        return not seen.letters and not seen.marks - {"."} and seen.digits >= FEWEST_OF_A_SERIAL
    marks, letters, numbers, most_runs = _needs(date_format)
    return (
        marks <= seen.marks
        and seen.marks - _LOSE <= marks
        and (seen.letters or not letters)
        and numbers <= seen.digits
        and seen.runs <= most_runs
    )


@cache
def _needs(date_format: str) -> tuple[frozenset[str], bool, int, int]:
    """The marks of a format, whether it has letters, and the fewest digits and the most numbers of a cell in it."""
    written = _PART.sub("", date_format)
    letters = "%b" in date_format.lower() or "%p" in date_format or any(letter.isalpha() for letter in written)
    numbers = len(_NUMBER.findall(date_format))
    return frozenset(written).intersection(punctuation), letters, numbers, numbers + ("%.f" in date_format)
