"""Which rows a newer file replaces. Rows are only ever marked, never deleted, and a mark can be lifted.

The order of files is that of their places in the ledger: the order in which they were first taken in.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from stillroom_schemas.table import Table

if TYPE_CHECKING:
    import duckdb

BUSINESS_DATE = "CAST(sold_at - to_minutes((SELECT day_starts_minutes FROM stillroom_store)) AS DATE)"


def mark(con: duckdb.DuckDBPyConnection, table: Table, intake_id: int) -> int:
    """Mark all rows of older files on the ground of this intake as superseded by it; how many were marked."""
    if table.name == "sale":
        return _mark_sales(con, intake_id)
    marked = _mark_ground(con, table, table.ground, intake_id, "TRUE")
    if table.edition_ground is not None:
        marked += _mark_ground(con, table, table.edition_ground, intake_id, "older.file = newer.file")
    return marked


def lift(con: duckdb.DuckDBPyConnection, table: Table, intake_id: int) -> None:
    """Take an undone intake's rows out of force, and put back what it had superseded and no later file covers."""
    con.execute(f'UPDATE "{table.name}" SET superseded_by = ? WHERE intake_id = ?', [intake_id, intake_id])
    con.execute(
        f'UPDATE "{table.name}" SET superseded_by = NULL WHERE superseded_by = ? AND intake_id <> ?',
        [intake_id, intake_id],
    )
    mark_again(con, table, intake_id)


def mark_again(con: duckdb.DuckDBPyConnection, table: Table, intake_id: int) -> None:
    """Let every later file in force mark again: rows may have come back, or come late, on its ground."""
    later = con.execute(
        "SELECT i.intake_id FROM intake AS i, intake AS me WHERE me.intake_id = ? AND i.place > me.place "
        "AND i.undone_at IS NULL AND i.intake_id IN (SELECT intake_id FROM intake WHERE table_name = ?) "
        "ORDER BY i.place, i.intake_id",
        [intake_id, table.name],
    ).fetchall()
    for (other,) in later:
        mark(con, table, int(other))


def mark_all_again(con: duckdb.DuckDBPyConnection, table: Table) -> None:
    """Work all marks of a table out anew: what they rest on besides the rows has changed."""
    standing = "SELECT intake_id FROM intake WHERE undone_at IS NULL"
    con.execute(f'UPDATE "{table.name}" SET superseded_by = NULL WHERE intake_id IN ({standing})')
    files = con.execute(f"{standing} AND table_name = ? ORDER BY place, intake_id", [table.name]).fetchall()
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


def _mark_sales(con: duckdb.DuckDBPyConnection, intake_id: int) -> int:
    """Sales of the same source: by the till's own line identity where there is one, else whole days of a venue.

    Exports of calendar days share business days: two of them are two parts of one evening, and neither replaces the
    other. One that begins after a midnight, before the hour at which days begin, is taken for such an export: it covers
    its calendar days and not the rest of the evenings at its ends.
    """
    older = con.execute(
        "SELECT older.intake_id FROM intake AS older, intake AS newer WHERE newer.intake_id = ? "
        "AND older.place < newer.place AND older.source = newer.source AND older.undone_at IS NULL "
        "AND older.intake_id IN (SELECT intake_id FROM intake WHERE table_name = 'sale')",
        [intake_id],
    ).fetchall()
    if not older:
        return 0
    among = [row[0] for row in older]
    by_identity = con.execute(
        """
        UPDATE sale AS old SET superseded_by = $new
        WHERE old.line_id IS NOT NULL AND old.superseded_by IS NULL AND old.intake_id IN (SELECT unnest($older))
        AND EXISTS (
            SELECT 1 FROM sale AS new
            WHERE new.intake_id = $new AND new.line_id = old.line_id
            AND lower(new.venue) IS NOT DISTINCT FROM lower(old.venue)
        )
        """,
        {"new": intake_id, "older": among},
    )
    marked = _count(by_identity)
    by_day = con.execute(
        f"""
        WITH near AS (
            SELECT min(sold_at) - INTERVAL 1 DAY AS first, max(sold_at) + INTERVAL 1 DAY AS last
            FROM sale WHERE intake_id = $new
        ),
        parts AS (
            SELECT
                intake_id, lower(venue) AS venue_key, {BUSINESS_DATE} AS business_date, CAST(sold_at AS DATE) AS date,
                count(*) FILTER (line_id IS NULL) AS without_id
            FROM sale, near
            WHERE sold_at BETWEEN near.first AND near.last
            AND (intake_id = $new OR intake_id IN (SELECT unnest($older)))
            GROUP BY ALL
        ),
        days AS (
            SELECT
                *,
                min(date) OVER day AS first_date,
                max(date) OVER day AS last_date,
                sum(without_id) OVER day > 0 AS with_identity_too,
                min(date) OVER file > min(business_date) OVER file AS cut_at_midnight
            FROM parts
            WINDOW
                day AS (PARTITION BY intake_id, venue_key, business_date),
                file AS (PARTITION BY intake_id, venue_key)
        ),
        covered AS (
            SELECT DISTINCT old.intake_id, old.venue_key, old.business_date, old.date, new.with_identity_too
            FROM days AS new
            JOIN days AS old
                ON old.business_date = new.business_date AND old.venue_key IS NOT DISTINCT FROM new.venue_key
                AND CASE
                    WHEN new.cut_at_midnight THEN old.date = new.date
                    ELSE old.first_date <= new.last_date AND new.first_date <= old.last_date
                END
            WHERE new.intake_id = $new AND old.intake_id <> $new
        )
        UPDATE sale SET superseded_by = $new
        FROM covered
        WHERE sale.superseded_by IS NULL AND sale.intake_id = covered.intake_id
        AND lower(sale.venue) IS NOT DISTINCT FROM covered.venue_key
        AND {BUSINESS_DATE} = covered.business_date AND CAST(sale.sold_at AS DATE) = covered.date
        AND (sale.line_id IS NULL OR covered.with_identity_too)
        """,
        {"new": intake_id, "older": among},
    )
    return marked + _count(by_day)


def _count(result: duckdb.DuckDBPyConnection) -> int:
    rows = result.fetchall()
    return int(rows[0][0]) if rows else 0
