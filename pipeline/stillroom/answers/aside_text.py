"""Why a row was set aside, as a line of text for a terminal."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from difflib import get_close_matches
from typing import Any, Final

SHOWN_WORDS: Final = 8
"""Of the words that a cell may hold; the rows as JSON or CSV name all."""


def reason_text(row: Mapping[str, Any]) -> str:
    """Column, what is wrong, and the value; of a long list of words that may stand there the first few and the nearest.

    `row` has column, problem and value, of which the first and last may be None.

    >>> reason_text({"column": "unit", "problem": "is not one of: ml, cl", "value": "jug"})
    "unit is not one of: ml, cl (found 'jug')"
    >>> reason_text({"column": "unit", "problem": "is not one of: ml, cl", "value": "mil"})
    "unit is not one of: ml, cl (found 'mil'; perhaps 'ml'?)"
    """
    problem, value = row["problem"], row["value"]
    column = f"{row['column']}{':' if problem.startswith('there is ') else ''} " if row["column"] else ""
    allowed = problem.partition("is not one of: ")[2].split(", ")
    said = f" (found '{value}'{_nearest(value, allowed)})" if value is not None else ""
    return f"{column}{re.sub(r'(?<=is not one of: ).*', _first_few, problem)}{said}"


def _first_few(found: re.Match[str]) -> str:
    words = found[0].split(", ")
    more = len(words) - SHOWN_WORDS
    return f"{', '.join(words[:SHOWN_WORDS])} and {more} more" if more > 1 else found[0]


def _nearest(value: str, allowed: Sequence[str]) -> str:
    """The allowed word that was perhaps meant."""
    near = get_close_matches(value.lower(), allowed, n=1)
    return f"; perhaps '{near[0]}'?" if near else ""
