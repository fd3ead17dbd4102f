"""What a table of the store is: a pandera model, its key, and what a newer file replaces.

The model says columns, types and limits; a `Table` adds what no single row can say of itself.
"""

from __future__ import annotations

import pkgutil
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

if TYPE_CHECKING:
    import pandera.polars as pa


EXACT_DIGITS: Final = (18, 4)
"""Digits of an exact number, and those of them after the point. Sums of doubles differ from run to run."""


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
    model: type[pa.DataFrameModel] | str
    """The pandera model (columns, types, limits, what an empty cell means), or where it is: 'package.module:Model'."""
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

    def schema(self) -> Any:
        """The model's pandera schema: `columns` by name, `validate`."""
        model = pkgutil.resolve_name(self.model) if isinstance(self.model, str) else self.model
        return model.to_schema()
