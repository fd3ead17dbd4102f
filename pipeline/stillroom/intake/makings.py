"""How much so many makings are: 'half batch' in a book -> an amount, by what a making of the spec gives.

What a batch says is so many makings of its spec; what an event says is that share of its batch. A row of which that is
not known, or open, waits, and is told what is lacking. What was worked out is looked up anew whenever specs change.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Final

import polars as pl

from stillroom.intake.checking import NO_PROBLEMS
from stillroom.names import key_in_sql
from stillroom.store import in_force
from stillroom_schemas.table import Table
from stillroom_schemas.units import MAKING

if TYPE_CHECKING:
    import duckdb

AMOUNTS: Final = {"batch": ("made_amount", "made_unit"), "batch_event": ("amount", "unit")}
"""Table -> its amount that may be so many makings, and that amount's unit."""
GIVES: Final = {
    "batch": """
        SELECT t.row_number, t.cell_number, t.preparation AS name,
            list(DISTINCT (s.yield_amount, s.yield_unit)) FILTER (s.spec IS NOT NULL) AS gives
        FROM batch AS t
        LEFT JOIN ({spec}) AS s ON {spec_key} = {preparation_key} AND CASE
            WHEN t.version IS NOT NULL THEN s.version = t.version
            ELSE coalesce(s.in_service_from <= t.made_on, TRUE) AND coalesce(s.in_service_until >= t.made_on, TRUE)
        END
        WHERE t.intake_id = ?
        GROUP BY ALL
    """,
    "batch_event": """
        SELECT t.row_number, t.cell_number, t.batch AS name,
            list((b.made_amount, b.made_unit)) FILTER (b.batch IS NOT NULL) AS gives
        FROM batch_event AS t LEFT JOIN ({batch}) AS b ON lower(b.batch) = lower(t.batch)
        WHERE t.intake_id = ?
        GROUP BY ALL
    """,
}
"""Table -> row by row what one making gives: (amount, unit) by each version that may have been made."""


def give(con: duckdb.DuckDBPyConnection, tables: Mapping[str, Table], table: Table, intake_id: int) -> pl.DataFrame:
    """Turn the makings in rows of an intake into amounts; the problems of those of which that is not known.

    The share of each is kept in `making_share`.
    """
    if table.name not in AMOUNTS:
        return NO_PROBLEMS
    amount, unit = AMOUNTS[table.name]
    asked = f'SELECT row_number, cell_number, "{amount}" FROM "{table.name}" WHERE intake_id = ? AND "{unit}" = ?'
    shares = con.execute(asked, [intake_id, MAKING]).fetchall()
    if not shares:
        return NO_PROBLEMS
    gives = _gives(con, tables, table, intake_id)
    problems = []
    for row, cell, share in shares:
        name, known = gives[row, cell]
        if len(known) != 1:
            problems.append((row, amount, _problem(table, name, known), f"{share:g} {MAKING}", "reference"))
            continue
        [(made, made_unit)] = known
        con.execute(
            f'UPDATE "{table.name}" SET "{amount}" = ?, "{unit}" = ? '
            "WHERE intake_id = ? AND row_number = ? AND cell_number = ?",
            [round(share * made, 9), made_unit, intake_id, row, cell],
        ).fetchall()
        con.execute("INSERT INTO making_share VALUES (?, ?, ?, ?)", [intake_id, row, cell, share])
    return pl.DataFrame(problems, schema=NO_PROBLEMS.schema, orient="row")


def have_changed(con: duckdb.DuckDBPyConnection, tables: Mapping[str, Table], table: Table, intake_id: int) -> bool:
    """Whether the makings in rows of an intake would be other amounts now."""
    if table.name not in AMOUNTS:
        return False
    amount, unit = AMOUNTS[table.name]
    asked = f"""
        SELECT row_number, cell_number, share, "{amount}", "{unit}"
        FROM making_share JOIN "{table.name}" USING (intake_id, row_number, cell_number) WHERE intake_id = ?
    """
    landed = con.execute(asked, [intake_id]).fetchall()
    gives = _gives(con, tables, table, intake_id) if landed else {}
    now = ((share, gives[row, cell][1], said) for row, cell, share, *said in landed)
    return any(len(known) != 1 or [round(share * known[0][0], 9), known[0][1]] != said for share, known, said in now)


def _gives(
    con: duckdb.DuckDBPyConnection, tables: Mapping[str, Table], table: Table, intake_id: int
) -> dict[tuple[int, int], tuple[str, list[tuple[float, str]]]]:
    """(row and cell number) -> what it is of, and what a making of that gives, as far as that is known."""
    query = GIVES[table.name].format(
        spec=in_force.query(con, tables["spec"], tables),
        batch=in_force.query(con, tables["batch"], tables),
        spec_key=key_in_sql("s.spec"),
        preparation_key=key_in_sql("t.preparation"),
    )
    return {(row, cell): (name, known or []) for row, cell, name, known in con.execute(query, [intake_id]).fetchall()}


def _problem(table: Table, name: str, known: list[tuple[float, str]]) -> str:
    if table.name == "batch_event":
        return f"is a share of batch {name}, which is not there: take in the batch, or write the amount"
    if not known:
        return (
            f"is a share of a making, and no spec says what a making of {name} gives: take it in, or write the amount"
        )
    versions = " or ".join(f"{made:g} {unit}" for made, unit in sorted(known))
    return f"is a share of a making, and a making of {name} gives {versions}: write the version, or the amount"
