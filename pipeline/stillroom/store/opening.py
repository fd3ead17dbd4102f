"""Opening the store: to write (one at a time) or to read, with every refusal a clear sentence."""

from __future__ import annotations

import os
import re
from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import TYPE_CHECKING, Final

from stillroom.errors import StoreError
from stillroom.house.decisions import Decisions
from stillroom.house.house import House
from stillroom.plugins.registry import BUILT_IN, unfit_model
from stillroom.store import derived, frames, in_force, layout, ledger, worked_out
from stillroom.store.transaction import transaction
from stillroom.store.working_copy import InUse, take_its_place, working_copy
from stillroom_schemas.table import Table

if TYPE_CHECKING:
    import duckdb


MEMORY_TO_TAKE_IN: Final = "400MB"
"""Of the database alone; to read, and to work out the use of batches, it has `worked_out.MEMORY`."""

ROW_GROUP: Final = 122_880
"""Rows of a table that DuckDB hands to a thread: with fewer in a store, all others would only wait."""
FULL: Final = "No space left", "Disk quota exceeded"
"""What an operating system says of a disk that is full, or of one's share of it."""
REMEDY: Final = (
    "The source files are the truth: if the store is damaged, move it away and take them in with 'stillroom intake'."
)


@contextmanager
def writing(house: House, tables: Iterable[Table]) -> Iterator[duckdb.DuckDBPyConnection]:
    """The store for writing; made where there is none. What is derived is brought up to date at the end.

    A plugin's table whose model cannot be had is left out; its files are refused where they are planned.

    Raises:
        StoreError: another process holds it, a newer version wrote it, it is damaged, or the disk says no.
    """
    by_name = {table.name: table for table in tables if unfit_model(table) is None}
    with _prepared(house, by_name) as con:
        yield con
        decisions = Decisions.load(house.folder)
        if _made_for(con) != derived.fingerprint(con, house, by_name, decisions):
            _fit_threads(con)
            derived.make_derived(con, house, by_name, decisions)


@contextmanager
def for_trial(house: House, tables: Iterable[Table]) -> Iterator[duckdb.DuckDBPyConnection]:
    """A store that is thrown away: rows land in it as in any other, and nothing is derived from them."""
    with _prepared(house, {table.name: table for table in tables if unfit_model(table) is None}) as con:
        yield con


@contextmanager
def _prepared(house: House, tables: Mapping[str, Table]) -> Iterator[duckdb.DuckDBPyConnection]:
    """The store for writing. What has been committed is kept, whatever is raised then; but not if the disk fails."""
    with working_copy(house.store_path) as copy, _clear_faults(house):
        keep = False
        con = _connect(house, copy, read_only=False)
        try:
            _prepare(con, house, tables)
            keep = True
            yield con
        except BaseException as error:
            keep = keep and not is_of_the_store(error)
            raise
        finally:
            con.close()
            if keep:
                _refuse_unless_whole(house, copy)
                take_its_place(copy, house.store_path)


def _refuse_unless_whole(house: House, copy: Path) -> None:
    """A log beside it, once it is closed, holds what could not be written into it."""
    if copy.with_name(f"{copy.name}.wal").exists():
        raise _no_room(house)


def _no_room(house: House) -> StoreError:
    return StoreError(f"{house.store_path} cannot be written: the disk is full. It is as it was.")


def _is_full(error: BaseException) -> bool:
    return any(text in str(error) for text in FULL)


@contextmanager
def reading(house: House, tables: Iterable[Table]) -> Iterator[duckdb.DuckDBPyConnection]:
    """The store for reading; what is derived is first brought up to date where settings or code have changed.

    While another process writes, it is the last whole state, as it was worked out then.
    """
    by_name = {table.name: table for table in tables}
    if not house.store_path.exists():
        raise StoreError(f"{house.folder} has no store yet: take its files in with 'stillroom intake'.")
    with _clear_faults(house):
        con = _connect(house, house.store_path, read_only=True)
        try:
            old = _version(con) != layout.STORE_VERSION
            if old or _made_for(con) != derived.fingerprint(con, house, by_name, Decisions.load(house.folder)):
                con.close()
                with suppress(*([] if old else [InUse])), writing(house, by_name.values()):
                    pass
                con = _connect(house, house.store_path, read_only=True)
            _fit_threads(con)
            yield con
        finally:
            con.close()


@contextmanager
def _clear_faults(house: House) -> Iterator[None]:
    """What disk and file system do to a store, and damage that shows only when it is read, in one sentence."""
    import duckdb

    try:
        yield
    except duckdb.Error as error:
        if _is_full(error):
            raise _no_room(house) from None
        if not is_of_the_store(error):
            raise
        raise StoreError(
            f"{house.store_path} cannot be read or written ({_first_line(str(error))}). {REMEDY}"
        ) from None


def is_of_the_store(error: BaseException) -> bool:
    """Whether DuckDB raised it of a file that it cannot read or write, whatever was asked of it."""
    import duckdb

    kinds = duckdb.IOException, duckdb.FatalException, duckdb.InternalException, duckdb.SerializationException
    damaged = type(error) is duckdb.Error  # so it says that a checksum does not match
    return isinstance(error, kinds) or damaged or (isinstance(error, duckdb.Error) and _is_full(error))


def _connect(house: House, file: Path, *, read_only: bool) -> duckdb.DuckDBPyConnection:
    import duckdb

    path = house.store_path
    share = os.environ.get("POLARS_MAX_THREADS", "")
    config: dict[str, str | bool | int | float | list[str]] = {
        # Everything needed is built in; nothing is ever fetched.
        "autoinstall_known_extensions": "false",
        "autoload_known_extensions": "false",
        # Memory stays flat however large a file is: what does not fit goes to disk.
        "memory_limit": worked_out.MEMORY if read_only else MEMORY_TO_TAKE_IN,
        # Where several houses are taken in at once each has its share of the processors, here as in polars.
        **({"threads": share} if re.fullmatch("[1-9][0-9]{0,3}", share) else {}),
    }
    try:
        return duckdb.connect(str(file), read_only=read_only, config=config)
    except duckdb.IOException as error:
        text = str(error)
        if _is_full(error):
            raise _no_room(house) from None
        holder = re.search(r"PID (\d+)", text)
        if "lock" in text.lower():
            who = f"process {holder.group(1)}" if holder else "another process"
            raise StoreError(f"{path} is in use by {who}: wait until it has finished, then try again.") from None
        if "newer version" in text.lower():
            raise StoreError(
                f"{path} was written by a newer version of DuckDB: upgrade Stillroom to open it."
            ) from None
        raise StoreError(f"{path} cannot be opened ({_first_line(text)}). {REMEDY}") from None
    except duckdb.Error as error:
        raise StoreError(f"{path} is damaged or no store ({_first_line(str(error))}). {REMEDY}") from None


def _fit_threads(con: duckdb.DuckDBPyConnection) -> None:
    """Use no more threads than the rows that have landed can keep busy: a fifth less time in a small store."""
    if frames.one_value(con, "SELECT coalesce(sum(rows_landed), 0) FROM intake") < ROW_GROUP:
        con.execute("SET threads = 1")


def _prepare(con: duckdb.DuckDBPyConnection, house: House, tables: Mapping[str, Table]) -> None:
    version = _version(con)
    if version is not None and version > layout.STORE_VERSION:
        raise StoreError(
            f"{house.store_path} was written by a newer Stillroom (store version {version}; this one knows "
            f"{layout.STORE_VERSION}): upgrade Stillroom to open it."
        )
    if version is not None and version < layout.STORE_VERSION:
        raise StoreError(
            f"{house.store_path} was made by an older Stillroom (store version {version}; this one makes "
            f"{layout.STORE_VERSION}). The source files are the truth: move it away and run 'stillroom intake'."
        )
    changed = layout.changed_tables(con, [table for table in tables.values() if table.name in BUILT_IN])
    if changed:
        raise StoreError(
            f"{house.store_path}: the columns of {', '.join(changed)} have changed since the store was made. The "
            "source files are the truth: move the store away and run 'stillroom intake'."
        )
    with transaction(con):
        layout.create_tables(con, tables.values())
        if version is None:
            con.execute(
                "INSERT INTO stillroom_store VALUES (?, ?, ?, ?)",
                [layout.STORE_VERSION, derived.NOTHING, house.day_starts_minutes, house.time_zone],
            )
        _keep_the_clock(con, house)
        decisions = Decisions.load(house.folder)
        ledger.adopt(con, decisions)
        in_force.refresh(con, house, tables, decisions)


def _keep_the_clock(con: duckdb.DuckDBPyConnection, house: House) -> None:
    """Note when the house's days begin, and in which zone; what an export covers follows from it, and is forgotten."""
    clock = (house.day_starts_minutes, house.time_zone)
    if frames.one_row(con, "SELECT day_starts_minutes, time_zone FROM stillroom_store") == clock:
        return
    con.execute("UPDATE stillroom_store SET day_starts_minutes = ?, time_zone = ?", list(clock))
    con.execute("DELETE FROM standing; DELETE FROM span; DELETE FROM superseded")


def _version(con: duckdb.DuckDBPyConnection) -> int | None:
    if frames.one_row(con, "SELECT 1 FROM duckdb_tables() WHERE table_name = 'stillroom_store'") is None:
        return None
    version = frames.one_value(con, "SELECT version FROM stillroom_store")
    return None if version is None else int(version)


def _made_for(con: duckdb.DuckDBPyConnection) -> str:
    return str(frames.one_value(con, "SELECT made_for FROM stillroom_store") or derived.NOTHING)


def _first_line(text: str) -> str:
    return text.strip().splitlines()[0] if text.strip() else "no reason given"
