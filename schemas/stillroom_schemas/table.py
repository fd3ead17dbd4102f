"""What a table of the store is: a pandera model, its key, and what a newer file replaces.

The model says columns, types and limits; a `Table` adds what no single row can say of itself.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import pandera.polars as pa


@dataclass(frozen=True, kw_only=True)
class Reference:
    """A row must have its partner in another table of the store."""

    columns: tuple[str, ...]
    """Columns of this table."""
    table: str
    """Name of the table that holds the partner."""
    table_columns: tuple[str, ...]
    """The partner's columns, in the same order."""
    missing: str
    """What to tell the user when there is no partner; `{value}` stands for the row's own value."""
    not_before: tuple[str, str] | None = None
    """(own date column, partner's date column): the own date may not lie before the partner's."""


@dataclass(frozen=True, kw_only=True)
class Table:
    """One table of the store."""

    name: str
    """Name in the store, and of the template file."""
    title: str
    """One line for people: what a row is."""
    model: type[pa.DataFrameModel]
    """The pandera model: columns, types, limits, what is filled in when empty."""
    key: tuple[str, ...] = ()
    """Columns that name a row; a second row with the same key in one file is set aside."""
    key_when: str | None = None
    """The key holds only for rows in which this column is filled."""
    ground: tuple[str, ...] = ()
    """Columns a newer file is compared on: rows of older files on the same ground are superseded."""
    edition_ground: tuple[str, ...] | None = None
    """As `ground`, where the newer file is a new edition of the same file; `ground` when None."""
    references: tuple[Reference, ...] = ()
    """Partners that must be there."""
