"""The tables as DuckDB has them: made from the pandera models, with bookkeeping columns beside."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING, Final

from stillroom_schemas.table import Table

if TYPE_CHECKING:
    import duckdb

STORE_VERSION: Final = 2

BOOKKEEPING: Final = {
    "intake_id": "INTEGER NOT NULL",
    "file": "VARCHAR NOT NULL",
    "row_number": "BIGINT NOT NULL",
    "superseded_by": "INTEGER",
}
"""`superseded_by`: NULL while the row is in force; else the intake that replaced it, or its own when undone."""

SQL_TYPES: Final = {
    "String": "VARCHAR",
    "Int64": "BIGINT",
    "Float64": "DOUBLE",
    "Boolean": "BOOLEAN",
    "Date": "DATE",
    "Datetime": "TIMESTAMP",
}

OWN_TABLES: Final = """
CREATE TABLE IF NOT EXISTS stillroom_store (
    version INTEGER NOT NULL, made_for VARCHAR NOT NULL, day_starts_minutes INTEGER NOT NULL
);
CREATE TABLE IF NOT EXISTS intake (
    intake_id INTEGER PRIMARY KEY,
    source VARCHAR NOT NULL,
    plugin VARCHAR NOT NULL,
    table_name VARCHAR NOT NULL,
    file VARCHAR NOT NULL,
    sha256 VARCHAR NOT NULL,
    reading VARCHAR NOT NULL,
    corrects INTEGER,
    place INTEGER NOT NULL,
    rows_read BIGINT NOT NULL,
    rows_landed BIGINT NOT NULL,
    rows_set_aside BIGINT NOT NULL,
    rows_passed_over BIGINT NOT NULL,
    began_at TIMESTAMP NOT NULL,
    ended_at TIMESTAMP NOT NULL,
    undone_at TIMESTAMP,
    CHECK (rows_read = rows_landed + rows_set_aside + rows_passed_over)
);
CREATE TABLE IF NOT EXISTS set_aside (
    intake_id INTEGER NOT NULL,
    file VARCHAR NOT NULL,
    row_number BIGINT NOT NULL,
    "column" VARCHAR,
    problem VARCHAR NOT NULL,
    "value" VARCHAR,
    rule VARCHAR NOT NULL,
    "row" VARCHAR NOT NULL,
    corrected_by INTEGER
);
CREATE TABLE IF NOT EXISTS spec_density (spec VARCHAR NOT NULL, version BIGINT NOT NULL, density_g_ml DOUBLE NOT NULL);
CREATE TABLE IF NOT EXISTS ingredient_density (item VARCHAR NOT NULL, density_g_ml DOUBLE NOT NULL);
CREATE TABLE IF NOT EXISTS batch_use (batch_key VARCHAR NOT NULL, used DOUBLE NOT NULL, held DOUBLE NOT NULL);
CREATE TABLE IF NOT EXISTS unit (unit VARCHAR PRIMARY KEY, base VARCHAR NOT NULL, factor DOUBLE NOT NULL);
"""


def columns_of(table: Table) -> dict[str, str]:
    """Column name -> SQL type with its NOT NULL, model columns first."""
    columns = {}
    for name, column in table.model.to_schema().columns.items():
        metadata = column.metadata or {}
        sql = metadata.get("sql") or SQL_TYPES[column.dtype.type.base_type().__name__]
        columns[name] = sql if column.nullable else f"{sql} NOT NULL"
    return {**columns, **BOOKKEEPING}


def create_tables(con: duckdb.DuckDBPyConnection, tables: Iterable[Table]) -> None:
    """Create what is not there yet."""
    con.execute(OWN_TABLES)
    for table in tables:
        columns = ", ".join(f'"{name}" {sql}' for name, sql in columns_of(table).items())
        con.execute(f'CREATE TABLE IF NOT EXISTS "{table.name}" ({columns})')


def changed_tables(con: duckdb.DuckDBPyConnection, tables: Iterable[Table]) -> list[str]:
    """Tables whose columns in the store are not those of their model today."""
    changed = []
    for table in tables:
        rows = con.execute(
            "SELECT column_name, data_type FROM duckdb_columns() "
            "WHERE database_name = current_database() AND schema_name = 'main' AND table_name = ?",
            [table.name],
        ).fetchall()
        wanted = {name: sql.removesuffix(" NOT NULL").replace(", ", ",") for name, sql in columns_of(table).items()}
        if rows and dict(rows) != wanted:
            changed.append(table.name)
    return changed
