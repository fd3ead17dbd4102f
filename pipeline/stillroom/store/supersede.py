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

OLDER: Final = """
SELECT
    older.intake_id,
    older_file.file = newer_file.file AS same_file,
    contains(older_file.sha256, ' ') AND contains(newer_file.sha256, ' ')
        AND split_part(older_file.sha256, ' ', 1) = split_part(newer_file.sha256, ' ', 1)
        AND older_file.sha256 <> newer_file.sha256 AS other_sheet
FROM intake AS newer
JOIN intake AS newer_file ON newer_file.intake_id = coalesce(newer.corrects, newer.intake_id)
JOIN intake AS older ON older.table_name = newer.table_name AND older.place < newer.place
JOIN intake AS older_file ON older_file.intake_id = coalesce(older.corrects, older.intake_id)
WHERE newer.intake_id = ?
ORDER BY older.intake_id
"""
"""A correction is of the file that it corrects. Two sheets of one edition of a workbook have the same bytes, under two
sheets' names."""


def mark(con: duckdb.DuckDBPyConnection, table: Table, intake_id: int) -> int:
    """Mark all rows of older files on the ground of this intake as superseded by it; how many were marked."""
    if table.name == "sale":
        return mark_sales(con, intake_id)
    older = con.execute(OLDER, [intake_id]).fetchall()
    others = [one for one, _, other_sheet in older if not other_sheet]
    sheets = [one for one, _, other_sheet in older if other_sheet]
    editions = [one for one, same_file, _ in older if same_file]
    kinds = kinds_of(con, table)
    marked = _mark_ground(con, table.name, table.ground, kinds, intake_id, others)
    if table.ground:  # sheets are parts of one book: only what they tell twice counts once
        whole = tuple(column for column in kinds if column not in BOOKKEEPING)
        marked += _mark_ground(con, table.name, table.key or whole, kinds, intake_id, sheets)
    if table.edition_ground is not None:
        marked += _mark_ground(con, table.name, table.edition_ground, kinds, intake_id, editions)
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
    con: duckdb.DuckDBPyConnection,
    table: str,
    ground: tuple[str, ...],
    kinds: dict[str, str],
    intake_id: int,
    older: list[int],
) -> int:
    """Mark the rows of these older intakes that have their ground in common with the intake's."""
    if not ground or not older:
        return 0
    names = ", ".join(f'"{column}"' for column in ground)
    return _count(
        con.execute(
            f"""
            UPDATE "{table}" AS old SET superseded_by = $intake
            WHERE old.superseded_by IS NULL AND old.intake_id IN $older
            AND EXISTS (
                SELECT 1 FROM (SELECT DISTINCT {names} FROM "{table}" WHERE intake_id = $intake) AS new
                WHERE {_same(ground, kinds)}
            )
            """,
            {"intake": intake_id, "older": older},
        )
    )


def _count(result: duckdb.DuckDBPyConnection) -> int:
    rows = result.fetchall()
    return int(rows[0][0]) if rows else 0
