"""Which rows of a file carry an identity that may stand in it already: where identities only rise, none does.

Most tills number their lines one by one. To look for a repeat among ten million of them takes as long as to land a
million; to look for the few that fall out of line takes nothing.
"""

from __future__ import annotations

from typing import Final

import polars as pl

from stillroom_schemas.table import Table

PASSES: Final = 4
"""Looks at a batch for rows that fall behind; where more are needed its identities are in no order."""
MOST_FALLEN: Final = 100_000
"""Rows of a file that may have fallen, before all are searched after all: they wait in memory."""


class Rising:
    """Follows a file's batches in their order."""

    def __init__(self, table: Table, *, a_line_a_row: bool = True) -> None:
        """`a_line_a_row`: otherwise several rows stand in a line of the file, and go together."""
        columns = table.schema().columns
        self._column = next((k for k in table.key if (columns[k].metadata or {}).get("identity")), None)
        self._highest = pl.Series([""])
        self._fallen = 0
        self.so_far = self._column is not None and a_line_a_row
        """But for the rows that were told as fallen, no identity stands twice."""

    def fallen(self, rows: pl.DataFrame) -> pl.Series:
        """Of a batch of typed rows, those whose identity is not above all before it (a mask)."""
        found = pl.zeros(rows.height, dtype=pl.Boolean, eager=True)
        if not self.so_far or self._column is None or rows[self._column].null_count() == rows.height:
            return found
        names = rows.with_row_index("place").select("place", pl.col(self._column).str.to_lowercase().alias("name"))
        names = names.drop_nulls("name").with_columns(pl.col("name").str.len_bytes().alias("length"))
        for _ in range(PASSES):
            above = _above_the_one_before(names, self._highest)
            if above.all():
                break
            found = found.scatter(names["place"].filter(~above), True)
            names = names.filter(above)
        else:
            self.so_far = False
        self._highest = pl.concat([self._highest, names["name"]]).tail(1)
        self._fallen += int(found.sum())
        self.so_far &= self._fallen <= MOST_FALLEN
        return found


def _above_the_one_before(names: pl.DataFrame, highest: pl.Series) -> pl.Series:
    """By length first, as numbers are that are written without zeros in front."""
    name, length = pl.col("name"), pl.col("length")
    before, its_length = name.shift(fill_value=highest.item()), length.shift(fill_value=highest.str.len_bytes().item())
    return names.select((length > its_length) | ((length == its_length) & (name > before))).to_series()
