"""Which rows a newer file replaces. Rows are only ever marked, never deleted, and a mark can be lifted.

The order of files is that of their places in the ledger: the order in which they were first taken in.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from stillroom.store.layout import BOOKKEEPING
from stillroom.store.supersede_sales import mark_sales
from stillroom_schemas.table import Table

if TYPE_CHECKING:
    import duckdb

FILE: Final = "(SELECT file FROM intake WHERE intake_id = coalesce({one}.corrects, {one}.intake_id))"
SAME_FILE: Final = f"{FILE.format(one='older')} = {FILE.format(one='newer')}"
"""Two editions of one file; a correction is of the file that it corrects."""

SHEET: Final = "(SELECT sha256 FROM intake WHERE intake_id = coalesce({one}.corrects, {one}.intake_id))"
OLDER_SHEET, NEWER_SHEET = SHEET.format(one="older"), SHEET.format(one="newer")
OTHER_SHEET: Final = f"""(
    contains({OLDER_SHEET}, ' ') AND contains({NEWER_SHEET}, ' ') AND {OLDER_SHEET} <> {NEWER_SHEET}
    AND split_part({OLDER_SHEET}, ' ', 1) = split_part({NEWER_SHEET}, ' ', 1)
)"""
"""Two sheets of one edition of a workbook: the same bytes, under two sheets' names."""


def mark(con: duckdb.DuckDBPyConnection, table: Table, intake_id: int) -> int:
    """Mark all rows of older files on the ground of this intake as superseded by it; how many were marked."""
    if table.name == "sale":
        return mark_sales(con, intake_id)
    marked = _mark_ground(con, table, table.ground, intake_id, f"{OTHER_SHEET} IS NOT TRUE")
    if table.ground:  # sheets are parts of one book: only what they tell twice counts once
        whole = tuple(column for column in kinds_of(con, table) if column not in BOOKKEEPING)
        marked += _mark_ground(con, table, table.key or whole, intake_id, OTHER_SHEET)
    if table.edition_ground is not None:
        marked += _mark_ground(con, table, table.edition_ground, intake_id, SAME_FILE)
    return marked


def lift(con: duckdb.DuckDBPyConnection, table: Table, intake_id: int) -> None:
    """Take an undone intake's rows out of force, and put back what it had superseded and no other file covers."""
    con.execute(f'UPDATE "{table.name}" SET superseded_by = ? WHERE intake_id = ?', [intake_id, intake_id])
    mark_again(con, table, intake_id)


def mark_again(con: duckdb.DuckDBPyConnection, table: Table, intake_id: int) -> None:
    """Work out anew the marks that rest on a file: it was undone, was corrected, or came late to its place.

    What it superseded and what superseded it is put back, and every file newer than the oldest of those rows marks
    again. A file and its corrections have one place, and count as one.
    """
    facts = {"table": table.name, "me": intake_id}
    place = "(SELECT place FROM intake WHERE intake_id = $me)"
    standing = "(SELECT intake_id FROM intake WHERE undone_at IS NULL)"
    file = f"(SELECT intake_id FROM intake WHERE table_name = $table AND place = {place})"
    marked = f"""
        superseded_by IS NOT NULL AND (superseded_by IN {file} OR intake_id IN {file}) AND intake_id IN {standing}
    """
    oldest = f"""
        SELECT least({place}, min(place)) FROM intake
        WHERE intake_id IN (SELECT DISTINCT intake_id FROM "{table.name}" WHERE {marked})
    """
    after = int(con.execute(oldest, facts).fetchall()[0][0])
    con.execute(f'UPDATE "{table.name}" SET superseded_by = NULL WHERE {marked}', facts)
    _mark_with_files_after(con, table, after)


def mark_all_again(con: duckdb.DuckDBPyConnection, table: Table) -> None:
    """Work all marks of a table out anew: what they rest on besides the rows has changed."""
    standing = "SELECT intake_id FROM intake WHERE undone_at IS NULL"
    con.execute(f'UPDATE "{table.name}" SET superseded_by = NULL WHERE intake_id IN ({standing})')
    _mark_with_files_after(con, table, 0)


def _mark_with_files_after(con: duckdb.DuckDBPyConnection, table: Table, place: int) -> None:
    """Let every file in force whose place comes after this one mark, in order."""
    files = con.execute(
        "SELECT intake_id FROM intake WHERE table_name = ? AND undone_at IS NULL AND place > ? "
        "ORDER BY place, intake_id",
        [table.name, place],
    ).fetchall()
    for (intake_id,) in files:
        mark(con, table, int(intake_id))


def _same(columns: tuple[str, ...], kinds: dict[str, str]) -> str:
    """Old and new row agree on these columns: names without case, empty equal to empty."""
    tests = []
    for column in columns:
        if kinds[column] == "VARCHAR":
            tests.append(f'lower(old."{column}") IS NOT DISTINCT FROM lower(new."{column}")')
        else:
            tests.append(f'old."{column}" IS NOT DISTINCT FROM new."{column}"')
    return " AND ".join(tests)


def kinds_of(con: duckdb.DuckDBPyConnection, table: Table) -> dict[str, str]:
    """Column -> SQL type in the store."""
    rows = con.execute("SELECT column_name, data_type FROM duckdb_columns() WHERE table_name = ?", [table.name])
    return dict(rows.fetchall())


def _mark_ground(
    con: duckdb.DuckDBPyConnection, table: Table, ground: tuple[str, ...], intake_id: int, which: str
) -> int:
    if not ground:
        return 0
    names = ", ".join(f'"{column}"' for column in ground)
    return _count(
        con.execute(
            f"""
            UPDATE "{table.name}" AS old SET superseded_by = ?
            WHERE old.superseded_by IS NULL
            AND old.intake_id IN (
                SELECT older.intake_id FROM intake AS older, intake AS newer
                WHERE newer.intake_id = ? AND older.place < newer.place AND {which}
            )
            AND EXISTS (
                SELECT 1 FROM (SELECT DISTINCT {names} FROM "{table.name}" WHERE intake_id = ?) AS new
                WHERE {_same(ground, kinds_of(con, table))}
            )
            """,
            [intake_id, intake_id, intake_id],
        )
    )


def _count(result: duckdb.DuckDBPyConnection) -> int:
    rows = result.fetchall()
    return int(rows[0][0]) if rows else 0
