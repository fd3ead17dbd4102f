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
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from functools import wraps
from pathlib import PurePosixPath
from typing import TYPE_CHECKING, Any, Concatenate, Final, NamedTuple, ParamSpec, TypeVar

from stillroom.group import facts
from stillroom.group.facts import HOUSES
from stillroom.group.places import Unreachable, said

if TYPE_CHECKING:
    import polars as pl
    from deltalake import DeltaTable

KEPT_HOURS: Final = 168
"""How long files that no longer count stay, for those who read as they are replaced."""
ANEW: Final = "delete them all, and 'stillroom group intake' makes them anew from the houses."
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


_Given = ParamSpec("_Given")
_Found = TypeVar("_Found")


def _reached(work: Callable[Concatenate[str, _Given], _Found]) -> Callable[Concatenate[str, _Given], _Found]:
    """A place that cannot be reached, or whose tables are damaged, as one sentence."""

    @wraps(work)
    def told(place: str, /, *args: _Given.args, **kwargs: _Given.kwargs) -> _Found:
        from deltalake.exceptions import DeltaError

        try:
            return work(place, *args, **kwargs)
        except OSError as error:
            raise Unreachable(f"The facts at {place} cannot be read or written ({said(error)}).") from None
        except DeltaError as error:
            raise Unreachable(f"The tables at {place} are damaged ({said(error)}): {ANEW}") from None

    return told


def address(place: str, table: str) -> str:
    """Where a table of facts is."""
    return f"{place}/{table}"


def slug(house: str) -> str:
    """A house's name as part of a path, which nothing spells in another way."""
    plain = re.sub(r"[^A-Za-z0-9]+", "-", house).strip("-")[:40]
    return f"{plain}-{hashlib.sha256(house.encode('utf-8', 'surrogatepass')).hexdigest()[:8]}"


@_reached
def make(place: str) -> None:
    """Make every table that is not there yet, and look whether those that are there are whole.

    Raises:
        Unreachable: they cannot be read, or an entry of a table's log is torn.
    """
    for table in facts.COLUMNS:
        _table(place, table)
        _look_at_log(place, table)


def _look_at_log(place: str, table: str) -> None:
    """A log's entry that was cut off to nothing is passed over by who reads the table, with the facts that it named."""
    from fsspec.core import url_to_fs

    system, log = url_to_fs(f"{address(place, table)}/_delta_log")
    torn = [
        str(one["name"]) for one in system.ls(log, detail=True) if one["name"].endswith(".json") and not one["size"]
    ]
    if torn:
        raise Unreachable(
            f"The tables at {place} are damaged ({PurePosixPath(torn[0]).name} of {table} is empty): {ANEW}"
        )


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
        Unreachable: nor at an address.
    """
    import fsspec

    written = []
    for table, frame in frames.items():
        if frame.is_empty():
            continue
        path = f"{slug(house)}/{run_id}-{time.time_ns():x}.parquet"
        try:
            with fsspec.open(f"{address(place, table)}/{path}", "wb", auto_mkdir=True) as file:
                frame.write_parquet(file)
                size = file.tell()
        except Exception as error:
            if "://" not in place:
                raise
            raise Unreachable(f"{address(place, table)} cannot be written to ({said(error)}).") from None
        written.append(Written(table=table, path=path, size=size, rows=frame.height))
    return written


@_reached
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

        _replace(self.table.table_uri, self.table, pl.concat([self._without(changed["house"].to_list()), changed]))

    def take_out(self, houses: list[str]) -> None:
        """Take the rows of some houses out.

        Raises:
            LostRace: as of `commit`.
        """
        _replace(self.table.table_uri, self.table, self._without(houses))

    def _without(self, houses: list[str]) -> pl.DataFrame:
        import polars as pl

        return self.rows.filter(~pl.col("house").is_in(houses))


@_reached
def _replace(place: str, table: DeltaTable, rows: pl.DataFrame) -> None:
    """Write a table as a whole onto the very version that was read."""
    from deltalake import CommitProperties, write_deltalake
    from deltalake.exceptions import CommitFailedError

    once = CommitProperties(max_commit_retries=0)
    try:
        write_deltalake(table, rows.sort("house"), mode="overwrite", commit_properties=once)
    except CommitFailedError:
        raise LostRace from None


@_reached
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


@_reached
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
            _look_at_log(place, table)
            found[table] = [f"{address(place, table)}/{one.path}" for one in known if (one.house, one.run_id) in counts]
        if _table(place, HOUSES).version() == state.table.version():
            return found


@_reached
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
