"""From a report's table to the cells that the page shows."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final, Literal

from stillroom.objects import ReportTable
from stillroom_reports.figures import heading_unit, value_text

if TYPE_CHECKING:
    import polars as pl

SHOWN_ROWS: Final = 15
"""Rows a table shows before the rest is folded away."""
PAGE_ROWS: Final = 500
"""Rows a table has on the page at most; the exports hold all."""


class TableFault(Exception):
    """A table cannot be shown; the sentence says why."""


@dataclass(frozen=True, kw_only=True)
class Heading:
    """What stands over a column."""

    label: str
    unit: str
    kind: Literal["number", "day", "words"]


@dataclass(frozen=True, kw_only=True)
class Cells:
    """A table as text: headings, and rows of as many cells; the first cell of a row names it."""

    headings: tuple[Heading, ...]
    rows: tuple[tuple[str, ...], ...]
    left_out: int
    """Rows that are in the exports only."""


def table_cells(table: ReportTable) -> Cells:
    """The table's shown columns as text.

    Raises:
        TableFault: it has no polars frame, or names a column that the frame lacks.
    """
    import polars as pl

    if not isinstance(table.frame, pl.DataFrame):
        raise TableFault(f"it holds a {type(table.frame).__name__}, not a polars DataFrame")
    missing = [name for name in table.columns if name not in table.frame.columns]
    if missing or not table.columns:
        raise TableFault(f"it has no column '{missing[0]}'" if missing else "it names no column to show")
    shown = table.frame.select(*table.columns)
    return Cells(
        headings=tuple(
            Heading(label=column.label, unit=heading_unit(column), kind=_kind(shown.schema[name]))
            for name, column in table.columns.items()
        ),
        rows=tuple(
            tuple(value_text(value, column) for value, column in zip(row, table.columns.values(), strict=True))
            for row in shown.head(PAGE_ROWS).iter_rows()
        ),
        left_out=max(shown.height - PAGE_ROWS, 0),
    )


def _kind(dtype: pl.DataType) -> Literal["number", "day", "words"]:
    if dtype.is_numeric():
        return "number"
    return "day" if dtype.is_temporal() else "words"
