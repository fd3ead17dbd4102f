"""Why a row was set aside, as a line of text for a terminal."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any, Final

SHOWN_WORDS: Final = 8
"""Of the words that a cell may hold; the rows as JSON or CSV name all."""


def reason_text(row: Mapping[str, Any]) -> str:
    """Column, what is wrong, and the value; of a long list of words that may stand there the first few.

    `row` has column, problem and value, of which the first and last may be None.

    >>> reason_text({"column": "unit", "problem": "is not one of: ml, cl", "value": "jug"})
    "unit is not one of: ml, cl (found 'jug')"
    """
    column = f"{row['column']} " if row["column"] else ""
    value = f" (found '{row['value']}')" if row["value"] is not None else ""
    return f"{column}{re.sub(r'(?<=is not one of: ).*', _first_few, row['problem'])}{value}"


def _first_few(found: re.Match[str]) -> str:
    words = found[0].split(", ")
    more = len(words) - SHOWN_WORDS
    return f"{', '.join(words[:SHOWN_WORDS])} and {more} more" if more > 1 else found[0]
