"""Whether the identities of a file's rows only rise: then none stands there twice, and nothing need be looked up."""

from __future__ import annotations

import polars as pl

from stillroom_schemas.table import Table


class Rising:
    """Follows a file's batches in their order.

    Most tills number their lines one by one. To look for a repeat among ten million of them takes as long as to land
    one million.
    """

    def __init__(self, table: Table) -> None:
        columns = table.schema().columns
        self._column = next((k for k in table.key if (columns[k].metadata or {}).get("identity")), None)
        self._last = pl.Series([""])
        self.so_far = self._column is not None

    def see(self, rows: pl.DataFrame) -> None:
        """Take a batch of typed rows into account."""
        if not self.so_far or self._column is None:
            return
        names = pl.concat([self._last, rows[self._column].drop_nulls().str.to_lowercase()])
        self.so_far = _each_above_the_one_before(names)
        self._last = names.tail(1)


def _each_above_the_one_before(names: pl.Series) -> bool:
    """By length first, as numbers are that are written without zeros in front."""
    frame = pl.DataFrame({"name": names, "length": names.str.len_bytes()})
    name, length = pl.col("name"), pl.col("length")
    longer = length > length.shift()
    above = longer | ((length == length.shift()) & (name > name.shift()))
    return bool(frame.select(above.slice(1).all()).item())
