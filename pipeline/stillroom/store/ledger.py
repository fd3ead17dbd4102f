"""The ledger: which file was taken in when, and what became of its rows. Lines are only ever added."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import TYPE_CHECKING

from stillroom.house.decisions import Decisions, Edition
from stillroom.naming import without_sheet
from stillroom.store import frames

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
    corrections: str
    """Which corrections by hand were read in the place of the file's own rows; '' for none."""
    rows_read: int
    rows_landed: int
    rows_set_aside: int
    rows_passed_over: int
    began_at: datetime
    ended_at: datetime

    @property
    def edition(self) -> Edition:
        """What decisions call it."""
        return Edition(self.source, self.file, self.sha256)

    @property
    def content(self) -> str:
        """sha256 of the whole file, whichever sheet of it was read."""
        return self.sha256.partition(" ")[0]

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


def readings(con: duckdb.DuckDBPyConnection, edition: Edition) -> list[Entry]:
    """The intakes of one edition of a file, in their order: each reads it in another way, or with other corrections."""
    return entries(con, "source = ? AND file = ? AND sha256 = ?", tuple(edition))


def chosen(readings: Sequence[Entry], corrections: str) -> Entry | None:
    """Of one edition's intakes the one that counts: the last with those corrections; where none has them, the last."""
    return next((one for one in reversed(readings) if one.corrections == corrections), None) or (
        readings[-1] if readings else None
    )


def adopt(con: duckdb.DuckDBPyConnection, decisions: Decisions) -> None:
    """Note as taken what landed though no decision tells of it, as when an old copy of the decisions was put back."""
    for entry in entries(con):
        if decisions.place(entry.edition) is None:
            decisions.add("taken", entry.edition, reading=entry.reading)
    decisions.save()
