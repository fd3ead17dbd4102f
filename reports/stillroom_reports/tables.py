"""From a report's table to the cells that the page shows."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final, Literal

from stillroom.objects import ReportTable
from stillroom_reports.figures import heading_unit, value_text

if TYPE_CHECKING:
    from collections.abc import Sequence

    import polars as pl
    from markupsafe import Markup

    from stillroom_reports.linking import Links

LONG: Final = 12
"""Rows beyond which a table is folded, and then shows fewer of them."""
FOLDED_TO: Final = 6
PAGE_ROWS: Final = 100
"""Rows a table has on the page at most; the exports hold all."""


Kind = Literal["number", "day", "word", "words", "prose"]
_LONGEST_WORD: Final = 28  # characters
_LONGEST_WORDS: Final = 60


class TableFault(Exception):
    """A table cannot be shown; the sentence says why."""


@dataclass(frozen=True, kw_only=True)
class Heading:
    """What stands over a column."""

    label: str
    unit: str
    kind: Kind
    """What its cells hold; a *word* is short enough to stand on one line, *prose* needs room."""


@dataclass(frozen=True, kw_only=True)
class Cells:
    """A table as text: headings, and rows of as many cells; the first cell of a row names it, unless it is a number."""

    headings: tuple[Heading, ...]
    rows: tuple[tuple[str, ...], ...]
    left_out: int
    """Rows that are in the exports only."""

    @property
    def shown(self) -> int:
        """Rows that are shown before the table is unfolded."""
        return len(self.rows) if len(self.rows) <= LONG else FOLDED_TO


def table_cells(table: ReportTable, most: int = PAGE_ROWS) -> Cells:
    """The table's shown columns as text, of so many rows at most.

    Raises:
        TableFault: it names no column, or one that its frame lacks.
    """
    shown = shown_columns(table)
    return cells_of(table, shown, shown.head(most).rows(), max(shown.height - most, 0))


def shown_columns(table: ReportTable) -> pl.DataFrame:
    """What the table shows of its frame.

    Raises:
        TableFault: it names no column, or one that its frame lacks.
    """
    missing = [name for name in table.columns if name not in table.frame.columns]
    if missing or not table.columns:
        raise TableFault(f"it has no column '{missing[0]}'" if missing else "it names no column to show")
    return table.frame.select(*table.columns)


def cells_of(table: ReportTable, shown: pl.DataFrame, rows: Sequence[tuple[object, ...]], left_out: int) -> Cells:
    """Rows of what a table shows, as text."""
    columns = table.columns.values()
    texts = tuple(tuple(value_text(value, column) for value, column in zip(row, columns, strict=True)) for row in rows)
    return Cells(
        headings=tuple(
            Heading(label=column.label, unit=heading_unit(column), kind=_kind(dtype, [row[at] for row in texts]))
            for at, (column, dtype) in enumerate(zip(columns, shown.dtypes, strict=True))
        ),
        rows=texts,
        left_out=left_out,
    )


def filled(rows: Sequence[Sequence[str]], headings: Sequence[Heading], links: Links) -> Markup:
    """Rows of a table's body, with a link where a cell is a name; all at once, since a page has tens of thousands."""
    from markupsafe import Markup, escape

    kinds = [heading.kind for heading in headings]
    tags = [(f'<td class="{kind}">', "</td>", escape if kind == "number" else links.cell) for kind in kinds]
    if kinds[0] != "number":
        tags[0] = (f'<th scope="row" class="{kinds[0]}">', "</th>", links.cell)
    lines = ("".join([f"{a}{cell(text)}{z}" for (a, z, cell), text in zip(tags, row, strict=True)]) for row in rows)
    # Every text of the data was escaped above.
    return Markup("".join([f"<tr>{line}</tr>\n" for line in lines]))


def _kind(dtype: pl.DataType, cells: list[str]) -> Kind:
    if dtype.is_numeric():
        return "number"
    if dtype.is_temporal():
        return "day"
    longest = max(map(len, cells), default=0)
    if longest <= _LONGEST_WORD:
        return "word"
    return "words" if longest <= _LONGEST_WORDS else "prose"
