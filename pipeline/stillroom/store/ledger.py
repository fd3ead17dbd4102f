"""The ledger: which file was taken in when, what became of its rows, and whether it still stands."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime
from typing import TYPE_CHECKING

from stillroom.errors import UsageError
from stillroom.naming import without_sheet
from stillroom.store import derived, frames, supersede
from stillroom_schemas.table import Table

if TYPE_CHECKING:
    import duckdb


@dataclass(frozen=True, kw_only=True)
class Entry:
    """One line of the ledger. rows_read = rows_landed + rows_set_aside + rows_passed_over."""

    intake_id: int
    source: str
    plugin: str
    table_name: str
    file: str
    sha256: str
    """Of the file's bytes, or a query's rows; for a sheet of a workbook, its name follows after a space."""
    reading: str
    corrects: int | None
    """The intake whose set-aside rows this one holds, corrected."""
    place: int
    """Its place in the order of files: its own number, or that of the intake it corrects or takes the place of."""
    rows_read: int
    rows_landed: int
    rows_set_aside: int
    rows_passed_over: int
    began_at: datetime
    ended_at: datetime
    undone_at: datetime | None = None

    @property
    def sheet(self) -> str | None:
        """The sheet that was read, of a workbook."""
        return self.sha256.partition(" ")[2] or None

    @property
    def path(self) -> str:
        """The file without the sheet that its name here may end with."""
        return without_sheet(self.file, self.sheet)


COLUMNS = ", ".join(Entry.__dataclass_fields__)


def now() -> datetime:
    """The time of day for the ledger, UTC."""
    return datetime.now(UTC).replace(tzinfo=None, microsecond=0)


def entries(con: duckdb.DuckDBPyConnection, where: str = "TRUE", parameters: tuple[object, ...] = ()) -> list[Entry]:
    """Ledger lines in the order of intake."""
    rows = con.execute(f"SELECT {COLUMNS} FROM intake WHERE {where} ORDER BY intake_id", list(parameters)).fetchall()
    return [Entry(**dict(zip(Entry.__dataclass_fields__, row, strict=True))) for row in rows]


def next_id(con: duckdb.DuckDBPyConnection) -> int:
    """The number of the next intake."""
    return int(frames.one_value(con, "SELECT coalesce(max(intake_id), 0) + 1 FROM intake"))


def write(con: duckdb.DuckDBPyConnection, entry: Entry) -> None:
    """Append a line; the store refuses one whose rows do not add up."""
    marks = ", ".join("?" for _ in Entry.__dataclass_fields__)
    con.execute(
        f"INSERT INTO intake ({COLUMNS}) VALUES ({marks})",
        [getattr(entry, name) for name in Entry.__dataclass_fields__],
    )


def standing(con: duckdb.DuckDBPyConnection, file: str, sha256: str) -> Entry | None:
    """The intake by which these bytes are in the store now, if they are.

    A file that was changed and then changed back is not in the store: its newest edition is another one.
    """
    same_bytes = entries(con, "sha256 = ? AND undone_at IS NULL AND corrects IS NULL", (sha256,))
    for entry in reversed(same_bytes):
        newer = entries(
            con,
            "file = ? AND sha256 <> ? AND undone_at IS NULL AND corrects IS NULL AND place > ?",
            (file, sha256, entry.place),
        )
        if not newer:
            return entry
    return None


def in_force(con: duckdb.DuckDBPyConnection, intake_id: int) -> Entry | None:
    """The intake of that number, or the one that reads its bytes anew in its place; None where neither is in force."""
    own = next(iter(entries(con, "intake_id = ?", (intake_id,))), None)
    if own is None or own.undone_at is None:
        return own
    again = entries(
        con,
        "undone_at IS NULL AND corrects IS NULL AND file = ? AND sha256 = ? AND place = ?",
        (own.file, own.sha256, own.place),
    )
    return next(iter(again), None)


def undo(con: duckdb.DuckDBPyConnection, tables: dict[str, Table], intake_id: int) -> list[Entry]:
    """Take an intake (and the corrections of it) out of force; what it had superseded is in force again.

    Rows stay in the store, marked. Must run inside a transaction.
    """
    found = entries(con, "intake_id = ?", (intake_id,))
    if not found:
        newest = next_id(con) - 1
        if not newest:
            raise UsageError(f"There is no intake {intake_id}: nothing has been taken in yet.")
        raise UsageError(f"There is no intake {intake_id}; the newest is {newest}. 'stillroom ledger' lists them.")
    if found[0].undone_at is not None:
        raise UsageError(f"Intake {intake_id} ({found[0].file}) was undone already, on {found[0].undone_at} UTC.")
    family = [found[0]]
    for member in family:
        known_ids = [entry.intake_id for entry in family]
        family += [entry for entry in _corrections(con, member.intake_id) if entry.intake_id not in known_ids]
    for entry in family:
        _out_of_force(con, tables, entry)
        con.execute("UPDATE set_aside SET corrected_by = NULL WHERE corrected_by = ?", [entry.intake_id])
    return family


def replace(con: duckdb.DuckDBPyConnection, tables: dict[str, Table], old: Entry, new_id: int) -> None:
    """Take an intake out of force whose bytes are taken in anew; corrections of it become those of the new one.

    Must run inside a transaction.
    """
    _out_of_force(con, tables, old)
    con.execute("UPDATE intake SET corrects = ? WHERE corrects = ?", [new_id, old.intake_id])


def _corrections(con: duckdb.DuckDBPyConnection, intake_id: int) -> list[Entry]:
    return entries(
        con,
        "undone_at IS NULL AND (corrects = ? OR intake_id IN "
        "(SELECT corrected_by FROM set_aside WHERE intake_id = ? AND corrected_by IS NOT NULL))",
        (intake_id, intake_id),
    )


def _out_of_force(con: duckdb.DuckDBPyConnection, tables: dict[str, Table], entry: Entry) -> None:
    con.execute("UPDATE intake SET undone_at = ? WHERE intake_id = ?", [now(), entry.intake_id])
    if entry.table_name in tables:
        supersede.lift(con, tables[entry.table_name], entry.intake_id)
    con.execute("UPDATE stillroom_store SET made_for = ?", [derived.STALE])
