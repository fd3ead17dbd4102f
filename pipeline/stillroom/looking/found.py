"""What is found of a file so far: which columns have headings, and what stands under the others."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import polars as pl

from stillroom.house.model import Wide
from stillroom.intake import casting
from stillroom.intake.shaping import AROUND
from stillroom.looking.cells import MOST
from stillroom_schemas.table import Table


class Found:
    """Columns and constants, while they are found."""

    def __init__(
        self,
        *,
        columns: dict[str, tuple[str, ...]],
        rows: pl.DataFrame,
        schema: Any,
        wide: Wide | None,
        table: Table,
        taken: frozenset[str],
        rivals: Mapping[str, tuple[str, ...]],
        called: str,
    ) -> None:
        self.rivals, self.called = rivals, called
        self.columns, self.schema, self.table = columns, schema, table
        self.rows = rows.drop(taken, strict=False)
        self.turned = (wide.headings_are, wide.cells_are) if wide else ()
        self.constants: dict[str, str] = {}

    def lacks(self, name: str) -> bool:
        """Whether nothing fills a column yet."""
        said = (*self.columns, *self.constants, *self.turned)
        return name in self.schema.columns and name not in said

    def cells(self, heading: str) -> list[str]:
        """The filled cells under a heading, tidy."""
        if heading not in self.rows.columns:
            return []
        return casting.tidy(self.rows[heading]).drop_nulls().to_list()

    def all_filled(self, heading: str) -> bool:
        """Whether every row says something there."""
        return len(self.cells(heading)) == self.rows.height > 0

    def free(self) -> list[str]:
        """Headings that fill no column yet."""
        used = {one for several in self.columns.values() for one in several}
        return [h for h in self.rows.columns if h not in used and h not in AROUND]

    def some(self, heading: str, test: Any) -> bool:
        """Whether any filled cell under a heading passes."""
        return any(map(test, self.cells(heading)))

    def most(self, heading: str, test: Any) -> bool:
        """Whether most of the filled cells under a heading pass."""
        cells = self.cells(heading)
        return bool(cells) and sum(1 for cell in cells if test(cell)) >= MOST * len(cells)

    def blanks(self, name: str) -> bool:
        """Whether some rows leave a column empty."""
        headings = self.columns.get(name, ())
        return any(len(self.cells(heading)) < self.rows.height for heading in headings)
