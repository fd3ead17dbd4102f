"""Keys that stand twice in a file: the later row is set aside.

Rows that may repeat a key best wait until all others of their file have landed: to take a row out again once it has
landed makes the store write the whole file a second time.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import polars as pl

from stillroom.intake.checking import NO_PROBLEMS
from stillroom.store import frames, in_force
from stillroom_schemas.table import Table

if TYPE_CHECKING:
    import duckdb


def among_waiting(con: duckdb.DuckDBPyConnection, table: Table, intake_id: int, waiting: pl.DataFrame) -> pl.DataFrame:
    """The problems of those waiting rows whose key stands on an earlier row of their file.

    Args:
        waiting: typed rows of the table with row_number and row (its text); each has a whole key.

    Returns:
        The columns of `checking.PROBLEMS`, in the order of the rows.
    """
    keys = in_force.folded(table, table.key, "")
    named = ", ".join(f"{key} AS key_{place}" for place, key in enumerate(keys))
    same = " AND ".join(f"earlier.key_{place} IS NOT DISTINCT FROM late.key_{place}" for place in range(len(keys)))
    with frames.temporary(con, "waiting", waiting):
        return frames.fetch(
            con,
            f"""
            WITH late AS (SELECT row_number, row, {_shown(table)} AS value, {named} FROM waiting),
            earlier AS (
                SELECT row_number, {named} FROM "{table.name}" WHERE intake_id = ?
                UNION ALL SELECT row_number, {named} FROM waiting
            )
            SELECT late.row_number, '{table.key[-1]}' AS "column", {_said(table, "min(earlier.row_number)")} AS problem,
                late.value, 'key' AS rule, late.row
            FROM late JOIN earlier ON {same} AND earlier.row_number < late.row_number
            GROUP BY ALL ORDER BY late.row_number
            """,
            [intake_id],
        )


def in_file(con: duckdb.DuckDBPyConnection, table: Table, intake_id: int) -> pl.DataFrame:
    """The problems of landed rows whose key stands on an earlier row of the same file."""
    if not table.key:
        return NO_PROBLEMS
    keys = ", ".join(in_force.folded(table, table.key, ""))
    among, asked = "intake_id = $1", [intake_id]
    among += f' AND "{table.key_when}" IS NOT NULL' if table.key_when else ""
    # Nearly always no key repeats, and that is cheap to see from short hashes of the keys.
    repeated = frames.one_row(
        con,
        f'SELECT hash({keys}) AS h FROM "{table.name}" WHERE {among} GROUP BY h HAVING count(*) > 1 LIMIT 1',
        asked,
    )
    if repeated is None:
        return NO_PROBLEMS
    query = f"""
        WITH ranked AS (
            SELECT row_number, {_shown(table)} AS value,
                first_value(row_number) OVER w AS first_row, row_number() OVER w AS place
            FROM "{table.name}"
            WHERE {among}
            WINDOW w AS (PARTITION BY {keys} ORDER BY row_number)
        )
        SELECT row_number, '{table.key[-1]}' AS "column", {_said(table, "first_row")} AS problem, value, 'key' AS rule
        FROM ranked WHERE place > 1 ORDER BY row_number
    """
    return frames.fetch(con, query, asked)


def _shown(table: Table) -> str:
    """The key in SQL, as it is shown."""
    return " || ', ' || ".join(f"coalesce(CAST(\"{column}\" AS VARCHAR), '')" for column in table.key)


def _said(table: Table, first_row: str) -> str:
    names = " and ".join(table.key) if len(table.key) < 3 else ", ".join(table.key)
    stand = "stands" if len(table.key) == 1 else "stand"
    return f"'the same {names} {stand} on row ' || {first_row} || ' already'"
