"""What the store derives from the rows in force: the till roll-up, the views in SQL, and what Python works out."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING, Final

from stillroom import __version__, model
from stillroom.house.decisions import Decisions
from stillroom.house.house import House
from stillroom.store import frames, in_force, layout, ledger, worked_out
from stillroom.store.transaction import transaction
from stillroom_schemas.table import Table

if TYPE_CHECKING:
    import duckdb

NOTHING: Final = ""
"""What a store is made for in which nothing has been derived yet."""
OF_THE_STORE: Final = """
    SELECT 'VIEW', view_name FROM duckdb_views() WHERE NOT internal
    UNION ALL
    SELECT 'TABLE', table_name FROM duckdb_tables() WHERE NOT temporary
"""


def fingerprint(con: duckdb.DuckDBPyConnection, house: House, tables: Mapping[str, Table], decisions: Decisions) -> str:
    """What the derived part depends on; the same text means it need not be made again.

    Rows are only ever added, each by an intake: the number of the last one tells whether there are others.
    """
    parts = [__version__, str(house.day_starts_minutes), house.time_zone, decisions.digest, str(ledger.next_id(con))]
    parts += [str(day) for day in house.closed]
    parts += [*sorted(tables), *(f"{source.name} {source.kept}" for source in house.sources)]
    return _digest(*parts, *_forms(house))


def _forms(house: House) -> list[str]:
    """What says how tables and views are made, and what stands in those that are the same whatever the rows are."""
    common = [_digest(file.read_text(encoding="utf-8")) for file in house.common_ingredients]
    return [
        str(house.day_starts_minutes),
        model.MACROS,
        repr(model.views()),
        *sorted(model.BUILT),
        repr(worked_out.TABLES),
        *common,
    ]


def _digest(*parts: str) -> str:
    return hashlib.sha256("\n".join(parts).encode()).hexdigest()


def make_derived(
    con: duckdb.DuckDBPyConnection, house: House, tables: Mapping[str, Table], decisions: Decisions
) -> None:
    """Work out all that is derived, in one transaction, and note what it was made for."""
    with transaction(con):
        tables_here = layout.unchanged(con, tables)
        anew = _made_otherwise(con, house, tables_here)
        if anew:
            _take_away(con, tables_here)
        make_current(con, tables_here)
        if anew:
            worked_out.make_tables(con, house)
            _make_views(con, house)
            con.execute(f"COMMENT ON TABLE stillroom_store IS {_quoted(anew)}")
        worked_out.begin(con, house)
        build(con, house, model.ROLL_UP, *model.FOR_DENSITIES)
        worked_out.densities(con)
        build(con, house, *model.WITH_DENSITIES)
        if worked_out.batch_use(con):  # until now no batch was known to be in use
            build(con, house, *model.BY_USE)
        con.execute("UPDATE stillroom_store SET made_for = ?", [fingerprint(con, house, tables, decisions)])


def make_current(con: duckdb.DuckDBPyConnection, tables: Mapping[str, Table]) -> None:
    """The rows in force: of exports, which are large, as a view; of all others as a table."""
    there = {name for _, name in con.execute(OF_THE_STORE).fetchall()}
    for table in tables.values():
        current, query = _current(table), in_force.query(con, table, tables)
        if table.export is None and current.name in there:
            con.execute(f'DELETE FROM "{current.name}"; INSERT INTO "{current.name}" {query}')
            continue
        kind = "TABLE" if table.export is None else "VIEW"
        con.execute(f'CREATE OR REPLACE {kind} "{current.name}" AS {query}')
        con.execute(_comments(current, kind, current.columns))
    con.execute("DELETE FROM rows_in_force")
    for table in tables.values():
        if table.export is None:
            con.execute(f'INSERT INTO rows_in_force SELECT intake_id, count(*) FROM "current_{table.name}" GROUP BY 1')
        else:
            con.execute(f"INSERT INTO rows_in_force {in_force.COUNT_OF_EXPORTS}", [table.name])


def _current(table: Table) -> model.View:
    """What the rows in force of a table say of themselves."""
    described = {name: column.description or "" for name, column in table.schema().columns.items()}
    columns = {name: described.get(name, "") for name in layout.types_of(table) if name != "cell_number"}
    return model.View(name=f"current_{table.name}", about=f"{table.title}; rows in force", columns=columns, sql="")


def _made_otherwise(con: duckdb.DuckDBPyConnection, house: House, tables: Mapping[str, Table]) -> str:
    """What tables and views are made of today, where they were last made of something else; otherwise nothing."""
    made = f"made of {_digest(*_forms(house), *(repr(_current(table)) for table in tables.values()))}"
    before = frames.one_value(con, "SELECT comment FROM duckdb_tables() WHERE table_name = 'stillroom_store'")
    return "" if before == made else made


def _take_away(con: duckdb.DuckDBPyConnection, tables: Mapping[str, Table]) -> None:
    """Drop all that is derived, as an earlier version may have had a view for a table, or made it otherwise.

    The rows in force of a table that its plugin has changed stay as they were: they cannot be made anew.
    """
    made = {*model.names(), *(f"current_{table}" for table in tables)}
    for kind, name in con.execute(OF_THE_STORE).fetchall():
        if name in made or (kind == "VIEW" and not name.startswith("current_")):
            con.execute(f'DROP {kind} "{name}"')


def _make_views(con: duckdb.DuckDBPyConnection, house: House) -> None:
    """Make the macros, every view, and the tables that are built of views, still empty; each with its comments."""
    con.execute(model.MACROS)
    kinds = {view: ("TABLE", "LIMIT 0") if view.name in model.BUILT else ("VIEW", "") for view in model.views()}
    for view, (kind, limit) in kinds.items():
        con.execute(f"CREATE {kind} {view.name} AS FROM ({_sql(view, house)}) {limit}")
    columns: dict[str, list[str]] = {}
    for name, column in con.execute(
        "SELECT table_name, column_name FROM duckdb_columns() WHERE NOT internal"
    ).fetchall():
        columns.setdefault(name, []).append(column)
    con.execute("".join(_comments(view, kind, columns[view.name]) for view, (kind, _) in kinds.items()))


def build(con: duckdb.DuckDBPyConnection, house: House, *names: str) -> None:
    """Fill tables of the model anew, each after those that it reads."""
    for view in (view for view in model.views() if view.name in names):
        con.execute(f"DELETE FROM {view.name}; INSERT INTO {view.name} {_sql(view, house)}")


def _comments(view: model.View, kind: str, columns: Iterable[str]) -> str:
    """Statements that write beside a view (or a table, by its kind) and its columns what they mean."""
    of_columns = (
        f'COMMENT ON COLUMN "{view.name}"."{column}" IS {_quoted(view.meaning(column))};' for column in columns
    )
    return "".join([f'COMMENT ON {kind} "{view.name}" IS {_quoted(view.about)};', *of_columns])


def _quoted(text: str) -> str:
    return "'" + text.replace("'", "''") + "'"


def _sql(view: model.View, house: House) -> str:
    return view.sql.replace("{day_starts_minutes}", str(house.day_starts_minutes))
