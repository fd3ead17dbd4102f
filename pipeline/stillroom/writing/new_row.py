"""A row to add to a file that is kept by hand, and how its cells are written."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

Cell = str | float
BY_HAND: Final = "; rows are added to CSV and XLSX files: write them there yourself"


@dataclass(frozen=True, kw_only=True)
class NewRow:
    """A row to add: the cells of one that is there, some of them other."""

    like: int
    """Number of the row that it is like."""
    cells: Mapping[str, Cell]
    """Heading -> what stands there instead."""
