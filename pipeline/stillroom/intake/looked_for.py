"""Among which rows was looked for what the waiting rows of a file lack: reading it again is no use before others count.

A row waits for a partner, a label, or what a making gives. It finds these in tables that come before its own, events of
batches also in other files of events.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Final

from stillroom.intake.labels import EVENT
from stillroom.store import frames
from stillroom_schemas.table import Table

if TYPE_CHECKING:
    import duckdb

AMONG: Final = """
    SELECT coalesce(md5(string_agg(intake_id || ' at ' || place || ' of ' || book, ', ' ORDER BY intake_id)), '')
    FROM standing WHERE list_contains($tables, table_name) AND intake_id <> $own
"""
NOTE: Final = f"""
    INSERT INTO looked_for
    SELECT DISTINCT intake_id, ({AMONG}) FROM set_aside WHERE intake_id = $own AND rule = 'reference'
"""
OTHERS: Final = f"""
    SELECT 1 FROM set_aside WHERE intake_id = $own AND rule = 'reference'
        AND NOT EXISTS (FROM looked_for WHERE intake_id = $own AND among = ({AMONG})) LIMIT 1
"""


def note(con: duckdb.DuckDBPyConnection, tables: Mapping[str, Table], table: Table, intake_id: int) -> None:
    """Note that what rows of an intake wait for is not among the rows that count now; `tables`: all, in their order."""
    con.execute("DELETE FROM looked_for WHERE intake_id = ?", [intake_id])
    con.execute(NOTE, {"tables": sorted(_looked_in(tables, table)), "own": intake_id})


def others_are_there(con: duckdb.DuckDBPyConnection, tables: Mapping[str, Table], table: Table, intake_id: int) -> bool:
    """Whether rows of an intake wait, and others count by now than those among which what they lack was looked for."""
    return frames.one_row(con, OTHERS, {"tables": sorted(_looked_in(tables, table)), "own": intake_id}) is not None


def _looked_in(tables: Mapping[str, Table], table: Table) -> set[str]:
    order = list(tables)
    before = {*order[: order.index(table.name) + (table.name == EVENT)]}
    return before.union(*({one.table, *_looked_in(tables, tables[one.table])} for one in table.references))
