"""What the store derives from the rows in force: the till roll-up, the views in SQL, and what Python works out."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable
from typing import TYPE_CHECKING, Final

from stillroom import __version__, model
from stillroom.house.house import House
from stillroom.store import frames, worked_out
from stillroom.store.transaction import transaction
from stillroom_schemas.table import Table

if TYPE_CHECKING:
    import duckdb

STALE: Final = ""
"""What a store is made for while its derived tables wait to be worked out again."""


def fingerprint(house: House, tables: Iterable[Table]) -> str:
    """What the derived part depends on besides the rows; the same text means it need not be made again."""
    parts = [__version__, str(house.day_starts_minutes), house.time_zone, *sorted(table.name for table in tables)]
    parts += [model.MACROS, repr(model.views())]
    return hashlib.sha256("\n".join(parts).encode()).hexdigest()


def make_derived(con: duckdb.DuckDBPyConnection, house: House, tables: Iterable[Table]) -> None:
    """Work out all that is derived, in one transaction, and note what it was made for."""
    tables = list(tables)
    with transaction(con):
        worked_out.make_tables(con)
        _make_views(con, house, tables)
        worked_out.rows_aside(con, house)
        build(con, house, model.ROLL_UP, model.IN_USE)
        worked_out.densities(con)
        build(con, house, model.PARTS)
        if worked_out.batch_use(con):  # until now no batch was known to be in use
            build(con, house, model.IN_USE, model.PARTS)
        con.execute("UPDATE stillroom_store SET made_for = ?", [fingerprint(house, tables)])


def _make_views(con: duckdb.DuckDBPyConnection, house: House, tables: list[Table]) -> None:
    """Make the macros and every view anew with their comments, where they are not those that were made last."""
    statements = [model.MACROS]
    for table in tables:
        rows = f'SELECT * EXCLUDE (superseded_by) FROM "{table.name}" WHERE superseded_by IS NULL'
        statements.append(f'CREATE OR REPLACE VIEW "current_{table.name}" AS {rows}')
    for view in model.views():
        kind, limit = ("TABLE", "LIMIT 0") if view.name in model.BUILT else ("VIEW", "")
        statements.append(f"CREATE OR REPLACE {kind} {view.name} AS FROM ({_sql(view, house)}) {limit}")
    about = {view.name: view for view in (*map(_current, tables), *model.views())}
    made = f"views made of {hashlib.sha256(repr((statements, about)).encode()).hexdigest()}"
    if frames.one_value(con, "SELECT comment FROM duckdb_tables() WHERE table_name = 'stillroom_store'") == made:
        return
    for statement in statements:
        con.execute(statement)
    for view in about.values():
        _comment(con, view)
    con.execute(f"COMMENT ON TABLE stillroom_store IS '{made}'")


def _current(table: Table) -> model.View:
    """What the view of a table's rows in force says of itself."""
    columns = {name: column.description or "" for name, column in table.schema().columns.items()}
    about = f"{table.title}; rows in force"
    return model.View(name=f"current_{table.name}", about=about, columns=columns, sql="")


def build(con: duckdb.DuckDBPyConnection, house: House, *names: str) -> None:
    """Fill tables of the model anew."""
    for view in (model.view(name) for name in names):
        con.execute(f"CREATE OR REPLACE TABLE {view.name} AS {_sql(view, house)}")
        _comment(con, view)


def _comment(con: duckdb.DuckDBPyConnection, view: model.View) -> None:
    """Write beside a view and its columns what they mean."""
    kind = "TABLE" if view.name in model.BUILT else "VIEW"
    con.execute(f'COMMENT ON {kind} "{view.name}" IS {_quoted(view.about)}')
    for (column,) in con.execute(
        "SELECT column_name FROM duckdb_columns() WHERE table_name = ?", [view.name]
    ).fetchall():
        con.execute(f'COMMENT ON COLUMN "{view.name}"."{column}" IS {_quoted(view.meaning(column))}')


def _quoted(text: str) -> str:
    return "'" + text.replace("'", "''") + "'"


def _sql(view: model.View, house: House) -> str:
    return view.sql.replace("{day_starts_minutes}", str(house.day_starts_minutes))
