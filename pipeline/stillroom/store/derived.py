"""What the store derives from the rows in force: the till roll-up, the views in SQL, and what Python works out."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from typing import TYPE_CHECKING, Final

from stillroom import __version__, model
from stillroom.house.decisions import Decisions
from stillroom.house.house import House
from stillroom.store import frames, in_force, layout, worked_out
from stillroom.store.transaction import transaction
from stillroom_schemas.table import Table

if TYPE_CHECKING:
    import duckdb

STALE: Final = ""
"""What a store is made for while its derived tables wait to be worked out again."""


def fingerprint(house: House, tables: Mapping[str, Table], decisions: Decisions) -> str:
    """What the derived part depends on besides the rows; the same text means it need not be made again."""
    parts = [__version__, str(house.day_starts_minutes), house.time_zone, decisions.digest]
    parts += [*sorted(tables), *(f"{source.name} {source.kept}" for source in house.sources)]
    parts += [model.MACROS, repr(model.views())]
    parts += [hashlib.sha256(file.read_bytes()).hexdigest() for file in house.common_ingredients]
    return hashlib.sha256("\n".join(parts).encode()).hexdigest()


def make_derived(
    con: duckdb.DuckDBPyConnection, house: House, tables: Mapping[str, Table], decisions: Decisions
) -> None:
    """Work out all that is derived, in one transaction, and note what it was made for."""
    with transaction(con):
        worked_out.make_tables(con, house)
        tables_here = layout.unchanged(con, tables)
        make_current(con, tables_here)
        _make_views(con, house)
        worked_out.rows_aside(con, house)
        build(con, house, model.ROLL_UP, model.IN_USE)
        worked_out.densities(con)
        build(con, house, model.PARTS)
        if worked_out.batch_use(con):  # until now no batch was known to be in use
            build(con, house, model.IN_USE, model.PARTS)
        _comment(con, {_current(table): _kind(table) for table in tables_here.values()})
        _comment(con, {model.view(name): "TABLE" for name in model.BUILT})
        con.execute("UPDATE stillroom_store SET made_for = ?", [fingerprint(house, tables, decisions)])


def make_current(con: duckdb.DuckDBPyConnection, tables: Mapping[str, Table]) -> None:
    """The rows in force: of exports, which are large, as a view; of all others as a table."""
    for table in tables.values():
        query = in_force.query(con, table, tables)
        con.execute(f'CREATE OR REPLACE {_kind(table)} "current_{table.name}" AS {query}')
    rows = in_force.counts(con, tables)
    con.execute("DELETE FROM rows_in_force")
    frames.insert(con, "rows_in_force", frames.of_pairs(rows, "intake_id", "rows"))


def _kind(table: Table) -> str:
    return "TABLE" if table.export is None else "VIEW"


def _current(table: Table) -> model.View:
    """What the rows in force of a table say of themselves."""
    columns = {name: column.description or "" for name, column in table.schema().columns.items()}
    about = f"{table.title}; rows in force"
    return model.View(name=f"current_{table.name}", about=about, columns=columns, sql="")


def _make_views(con: duckdb.DuckDBPyConnection, house: House) -> None:
    """Make the macros and every view anew with their comments, where they are not those that were made last."""
    statements = [model.MACROS]
    for view in model.views():
        kind, limit = ("TABLE", "LIMIT 0") if view.name in model.BUILT else ("VIEW", "")
        statements.append(f"CREATE OR REPLACE {kind} {view.name} AS FROM ({_sql(view, house)}) {limit}")
    made = f"views made of {hashlib.sha256(repr((statements, model.views())).encode()).hexdigest()}"
    if frames.one_value(con, "SELECT comment FROM duckdb_tables() WHERE table_name = 'stillroom_store'") == made:
        return
    for statement in statements:
        con.execute(statement)
    _comment(con, {view: "VIEW" for view in model.views() if view.name not in model.BUILT})
    con.execute(f"COMMENT ON TABLE stillroom_store IS '{made}'")


def build(con: duckdb.DuckDBPyConnection, house: House, *names: str) -> None:
    """Fill tables of the model anew."""
    for view in (model.view(name) for name in names):
        con.execute(f"CREATE OR REPLACE TABLE {view.name} AS {_sql(view, house)}")


def _comment(con: duckdb.DuckDBPyConnection, kinds: Mapping[model.View, str]) -> None:
    """Write beside views (or tables, by their kind) and their columns what they mean."""
    columns: dict[str, list[str]] = {}
    for name, column in con.execute(
        "SELECT table_name, column_name FROM duckdb_columns() WHERE NOT internal"
    ).fetchall():
        columns.setdefault(name, []).append(column)
    for view, kind in kinds.items():
        con.execute(f'COMMENT ON {kind} "{view.name}" IS {_quoted(view.about)}')
        for column in columns[view.name]:
            con.execute(f'COMMENT ON COLUMN "{view.name}"."{column}" IS {_quoted(view.meaning(column))}')


def _quoted(text: str) -> str:
    return "'" + text.replace("'", "''") + "'"


def _sql(view: model.View, house: House) -> str:
    return view.sql.replace("{day_starts_minutes}", str(house.day_starts_minutes))
