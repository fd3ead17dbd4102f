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
class Export:
    """How rows are told apart that come in exports from one moment to another, which may overlap."""

    at: str
    """Column of the moment at which a row happened."""
    venue: str
    """Column of where: an export tells of each venue by itself."""
    identity: str
    """Column of the identity that a row keeps from export to export, where it has one."""
    alike: tuple[str, ...]
    """Columns in which two rows without identities agree if they may be the same."""


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
    export: Export | None = None
    """Its files are exports that add up; they are compared by their moments, not by `ground`."""
    kept: bool = False
    """Its files are kept by hand, unless a source says otherwise: the newest edition of a file is all that it says."""
    needs_venue: bool = False
    """Where the house has several venues, a row must say which it is of."""
    fills_venue: bool = False
    """Where the house has one venue, a row that says none is of it."""
    references: tuple[Reference, ...] = ()
    """Partners that must be there."""

    def schema(self) -> Any:
        """The model's pandera schema: `columns` by name, `validate`."""
        model = pkgutil.resolve_name(self.model) if isinstance(self.model, str) else self.model
        return model.to_schema()

    def texts(self) -> frozenset[str]:
        """The columns of words; they are compared without case."""
        return frozenset(n for n, c in self.schema().columns.items() if c.dtype.type.base_type().__name__ == "String")
