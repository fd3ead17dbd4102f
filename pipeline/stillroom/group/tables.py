"""The Delta tables of a group: what is written into them, and which of it counts.

Tasks write files of facts, which no table knows yet; the driver commits them, and after that the table `houses`, in
which each house has one row that names the run that counts. So facts of a house count in all tables at once, or in
none. `houses` is written as a whole onto the very version that was read: who loses a race for it has to read again.
"""

from __future__ import annotations

import hashlib
import json
import re
import time
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final, NamedTuple

from stillroom.group import facts
from stillroom.group.facts import HOUSES

if TYPE_CHECKING:
    import polars as pl
    from deltalake import DeltaTable

KEPT_HOURS: Final = 168
"""How long files that no longer count stay, for those who read as they are replaced."""
PARTS: Final = ("house", "run_id")


@dataclass(frozen=True, kw_only=True)
class Written:
    """A file of facts of one house, which counts when it has been committed."""

    table: str
    path: str
    """Inside the table."""
    size: int
    rows: int


class LostRace(Exception):
    """Somebody else has committed to `houses` since it was read."""


def address(place: str, table: str) -> str:
    """Where a table of facts is."""
    return f"{place}/{table}"


def slug(house: str) -> str:
    """A house's name as part of a path, which nothing spells in another way."""
    plain = re.sub(r"[^A-Za-z0-9]+", "-", house).strip("-")[:40]
    return f"{plain}-{hashlib.sha256(house.encode('utf-8', 'surrogatepass')).hexdigest()[:8]}"


def make(place: str) -> None:
    """Make every table that is not there yet."""
    for table in facts.COLUMNS:
        _table(place, table)


def _table(place: str, table: str) -> DeltaTable:
    import polars as pl
    from deltalake import DeltaTable, Schema

    where = address(place, table)
    if DeltaTable.is_deltatable(where):
        return DeltaTable(where)
    columns = Schema.from_arrow(pl.Schema(facts.schema(table)))
    parts = None if table == HOUSES else list(PARTS)
    return DeltaTable.create(where, columns, mode="ignore", partition_by=parts)


def write(place: str, house: str, run_id: str, frames: Mapping[str, pl.DataFrame]) -> list[Written]:
    """Write the facts of one house into files beside those of their tables.

    Raises:
        OSError: they cannot be written.
    """
    import fsspec

    written = []
    for table, frame in frames.items():
        if frame.is_empty():
            continue
        path = f"{slug(house)}/{run_id}-{time.time_ns():x}.parquet"
        with fsspec.open(f"{address(place, table)}/{path}", "wb", auto_mkdir=True) as file:
            frame.write_parquet(file)
            size = file.tell()
        written.append(Written(table=table, path=path, size=size, rows=frame.height))
    return written


def commit(place: str, run_id: str, written: Mapping[str, Iterable[Written]]) -> None:
    """Make files part of their tables, in one commit a table; they count when `houses` says so.

    `written`: house -> its files.
    """
    from deltalake.transaction import AddAction

    adds: dict[str, list[AddAction]] = {}
    now = int(time.time() * 1000)
    for house, files in written.items():
        for one in files:
            parts = {"house": house, "run_id": run_id}
            add = AddAction(one.path, one.size, parts, now, True, json.dumps({"numRecords": one.rows}))
            adds.setdefault(one.table, []).append(add)
    for name, actions in adds.items():
        table = _table(place, name)
        table.create_write_transaction(list(actions), "append", table.schema(), list(PARTS))


@dataclass(frozen=True)
class Standing:
    """The table `houses` as it was read."""

    table: DeltaTable
    rows: pl.DataFrame

    def commit(self, changed: pl.DataFrame) -> None:
        """Replace the rows of the houses that have changed.

        Raises:
            LostRace: somebody else has committed since it was read; nothing is changed.
        """
        import polars as pl

        self._write(pl.concat([self._without(changed["house"].to_list()), changed]))

    def take_out(self, houses: list[str]) -> None:
        """Take the rows of some houses out.

        Raises:
            LostRace: as of `commit`.
        """
        self._write(self._without(houses))

    def _without(self, houses: list[str]) -> pl.DataFrame:
        import polars as pl

        return self.rows.filter(~pl.col("house").is_in(houses))

    def _write(self, rows: pl.DataFrame) -> None:
        from deltalake import CommitProperties, write_deltalake
        from deltalake.exceptions import CommitFailedError

        rows = rows.sort("house")
        try:
            write_deltalake(
                self.table, rows, mode="overwrite", commit_properties=CommitProperties(max_commit_retries=0)
            )
        except CommitFailedError:
            raise LostRace from None


def standing(place: str) -> Standing:
    """What stands in `houses`: one row a house, in the order of names."""
    import polars as pl

    table = _table(place, HOUSES)
    rows = pl.DataFrame(table.to_pyarrow_table()).cast(pl.Schema(facts.schema(HOUSES)))
    return Standing(table, rows.sort("house"))


def counting(place: str) -> dict[str, str]:
    """House -> the run whose facts count."""
    return _counting(standing(place).rows)


def _counting(rows: pl.DataFrame) -> dict[str, str]:
    return dict(rows.drop_nulls("run_id").select("house", "run_id").iter_rows())


def files(place: str) -> dict[str, list[str]]:
    """Table -> its files whose facts count, each by its whole path or address; every column is in them.

    All are of one state of `houses`: where an intake commits meanwhile, they are looked up again.
    """
    while True:
        state = standing(place)
        counts = set(_counting(state.rows).items())
        found = {HOUSES: [str(file) for file in state.table.file_uris()]}
        for table in (one for one in facts.COLUMNS if one != HOUSES):
            known = _known(_table(place, table))
            found[table] = [f"{address(place, table)}/{one.path}" for one in known if (one.house, one.run_id) in counts]
        if _table(place, HOUSES).version() == state.table.version():
            return found


def take_out(place: str, replaced: Mapping[str, str]) -> None:
    """Take facts that count no longer out of their tables, and delete what has long been out of them.

    What was committed by a run that never came to `houses` goes after a week: until then it may still come.

    Args:
        place: where the tables are.
        replaced: house -> the run that counted before.
    """
    from deltalake.transaction import RemoveAction

    old, counts, now = set(replaced.items()), set(counting(place).items()), int(time.time() * 1000)
    long_ago = now - KEPT_HOURS * 3_600_000
    for name in facts.COLUMNS:
        table = _table(place, name)
        gone = [
            RemoveAction(one.path, True, now, partition_values={"house": one.house, "run_id": one.run_id})
            for one in (_known(table) if name != HOUSES else ())
            if (one.house, one.run_id) in old
            or ((one.house, one.run_id) not in counts and one.modification_time < long_ago)
        ]
        if gone:
            table.create_write_transaction(list(gone), "append", table.schema(), list(PARTS))
        table.vacuum(KEPT_HOURS, dry_run=False, full=True)


class _Known(NamedTuple):
    """A file of a table."""

    path: str
    house: str
    run_id: str
    modification_time: int


def _known(table: DeltaTable) -> list[_Known]:
    import polars as pl

    actions: Any = table.get_add_actions(flatten=True)
    frame = pl.DataFrame(actions)
    if frame.is_empty():
        return []
    columns = frame.select(
        pl.col("path", "partition.house", "partition.run_id"), pl.col("modification_time").cast(pl.Int64)
    )
    return [_Known(*row) for row in columns.iter_rows()]
