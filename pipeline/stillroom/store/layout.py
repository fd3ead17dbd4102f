"""The tables as DuckDB has them: made from the pandera models, with bookkeeping columns beside."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import TYPE_CHECKING, Any, Final

from stillroom_schemas.table import EXACT_DIGITS, Table

if TYPE_CHECKING:
    import duckdb

STORE_VERSION: Final = 7

NOT_NULL: Final = " NOT NULL"
BOOKKEEPING: Final = {
    "intake_id": "INTEGER NOT NULL",
    "file": "VARCHAR NOT NULL",
    "row_number": "BIGINT NOT NULL",
    "cell_number": "SMALLINT NOT NULL DEFAULT 1",
}
"""With `cell_number`, which tells the rows apart that stand in one line of a wide file, they name a row."""

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
    version INTEGER NOT NULL, made_for VARCHAR NOT NULL, day_starts_minutes INTEGER NOT NULL, time_zone VARCHAR NOT NULL
);
CREATE TABLE IF NOT EXISTS intake (
    intake_id INTEGER PRIMARY KEY,
    source VARCHAR NOT NULL,
    plugin VARCHAR NOT NULL,
    table_name VARCHAR NOT NULL,
    file VARCHAR NOT NULL,
    sha256 VARCHAR NOT NULL,
    reading VARCHAR NOT NULL,
    corrections VARCHAR NOT NULL,
    rows_read BIGINT NOT NULL,
    rows_landed BIGINT NOT NULL,
    rows_set_aside BIGINT NOT NULL,
    rows_passed_over BIGINT NOT NULL,
    began_at TIMESTAMP NOT NULL,
    ended_at TIMESTAMP NOT NULL,
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
    "row" VARCHAR NOT NULL
);
-- The rows whose amount was so many makings, or that share of a batch, before it was worked out.
CREATE TABLE IF NOT EXISTS making_share (
    intake_id INTEGER NOT NULL, row_number BIGINT NOT NULL, cell_number SMALLINT NOT NULL, share DOUBLE NOT NULL
);
-- Among which files that count (a digest of them) what an intake's rows lack was looked for in vain.
CREATE TABLE IF NOT EXISTS looked_for (intake_id INTEGER NOT NULL, among VARCHAR NOT NULL);
-- Worked out from the rows, the ledger and the decisions: these can be thrown away and made again.
CREATE TABLE IF NOT EXISTS standing (
    intake_id INTEGER NOT NULL,
    table_name VARCHAR NOT NULL,
    source VARCHAR NOT NULL,
    file VARCHAR NOT NULL,
    place INTEGER NOT NULL,
    book INTEGER NOT NULL
);
CREATE TABLE IF NOT EXISTS span (
    intake_id INTEGER NOT NULL,
    venue VARCHAR NOT NULL,
    business_date DATE NOT NULL,
    first_at TIMESTAMP NOT NULL,
    last_at TIMESTAMP NOT NULL,
    has_nameless BOOLEAN NOT NULL,
    lowest_name VARCHAR,
    highest_name VARCHAR,
    begins_from TIMESTAMP NOT NULL,
    begins_until TIMESTAMP NOT NULL,
    ends_from TIMESTAMP NOT NULL,
    ends_until TIMESTAMP NOT NULL
);
CREATE TABLE IF NOT EXISTS superseded (
    intake_id INTEGER NOT NULL, row_number BIGINT NOT NULL, cell_number SMALLINT NOT NULL
);
CREATE TABLE IF NOT EXISTS rows_in_force (intake_id INTEGER NOT NULL, rows BIGINT NOT NULL);
"""


def types_of(table: Table) -> dict[str, str]:
    """Column name -> SQL type, model columns first."""
    columns = {name: _sql_type(column) for name, column in table.schema().columns.items()}
    return {**columns, **{name: sql.partition(" ")[0] for name, sql in BOOKKEEPING.items()}}


def _sql_type(column: Any) -> str:
    if (column.metadata or {}).get("exact"):
        return "DECIMAL({},{})".format(*EXACT_DIGITS)
    return SQL_TYPES[column.dtype.type.base_type().__name__]


def _definitions(table: Table) -> Iterator[str]:
    for name, column in table.schema().columns.items():
        # Hardly any two alike: looking for what repeats in them would take a quarter of the time of landing sales.
        compression = " USING COMPRESSION zstd" if (column.metadata or {}).get("identity") else ""
        yield f'"{name}" {_sql_type(column)}{"" if column.nullable else NOT_NULL}{compression}'
    for name, sql in BOOKKEEPING.items():
        yield f'"{name}" {sql}'


def create_tables(con: duckdb.DuckDBPyConnection, tables: Iterable[Table]) -> None:
    """Create what is not there yet."""
    con.execute(OWN_TABLES)
    for table in tables:
        con.execute(f'CREATE TABLE IF NOT EXISTS "{table.name}" ({", ".join(_definitions(table))})')


def changed_tables(con: duckdb.DuckDBPyConnection, tables: Iterable[Table]) -> list[str]:
    """Tables whose columns in the store are not those of their model today."""
    stored: dict[str, dict[str, str]] = {}
    for table, column, kind in con.execute(
        "SELECT table_name, column_name, data_type FROM duckdb_columns() "
        "WHERE database_name = current_database() AND schema_name = 'main'"
    ).fetchall():
        stored.setdefault(table, {})[column] = kind
    return [one.name for one in tables if one.name in stored and stored[one.name] != types_of(one)]


def unchanged(con: duckdb.DuckDBPyConnection, tables: Mapping[str, Table]) -> dict[str, Table]:
    """The tables without those whose columns are no longer those of the store, with which nothing can be done."""
    changed = changed_tables(con, tables.values())
    return {name: table for name, table in tables.items() if name not in changed}
