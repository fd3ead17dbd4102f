"""Rows that waited until all others of their file had landed: those whose key stands there already are set aside.

To take a row out again once it has landed makes the store write the whole file a second time.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import polars as pl

from stillroom.intake.checking import ROW_NUMBER
from stillroom.store import frames, supersede
from stillroom_schemas.table import Table

if TYPE_CHECKING:
    import duckdb


def among(con: duckdb.DuckDBPyConnection, table: Table, intake_id: int, waiting: pl.DataFrame) -> pl.DataFrame:
    """The problems of those waiting rows whose key stands on an earlier row of their file.

    Args:
        waiting: typed rows of the table with row_number and row (its text); each has a whole key.

    Returns:
        The columns of `checking.PROBLEMS`, in the order of the rows.
    """
    kinds = supersede.kinds_of(con, table)
    keys = [f'lower("{k}")' if kinds[k] == "VARCHAR" else f'"{k}"' for k in table.key]
    named = ", ".join(f"{key} AS key_{place}" for place, key in enumerate(keys))
    same = " AND ".join(f"earlier.key_{place} IS NOT DISTINCT FROM late.key_{place}" for place in range(len(keys)))
    value = " || ', ' || ".join(f"coalesce(CAST(\"{k}\" AS VARCHAR), '')" for k in table.key)
    shown = " and ".join(table.key) if len(table.key) < 3 else ", ".join(table.key)
    with frames.temporary(con, "waiting", waiting):
        return frames.fetch(
            con,
            f"""
            WITH late AS (SELECT row_number, row, {value} AS value, {named} FROM waiting),
            earlier AS (
                SELECT row_number, {named} FROM "{table.name}" WHERE intake_id = ?
                UNION ALL SELECT row_number, {named} FROM waiting
            )
            SELECT late.row_number AS {ROW_NUMBER}, '{table.key[-1]}' AS "column",
                'the same {shown} stand on row ' || min(earlier.row_number) || ' already' AS problem,
                late.value, 'key' AS rule, late.row
            FROM late JOIN earlier ON {same} AND earlier.row_number < late.row_number
            GROUP BY ALL ORDER BY late.row_number
            """,
            [intake_id],
        )
