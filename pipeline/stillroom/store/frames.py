"""Polars frames into and out of DuckDB without copies through Python objects."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any, cast

if TYPE_CHECKING:
    import duckdb
    import polars as pl


class _ArrowStream:
    """Just the Arrow stream of a frame: what DuckDB can read without pyarrow."""

    def __init__(self, frame: pl.DataFrame) -> None:
        self._frame = frame

    def __arrow_c_stream__(self, requested_schema: object = None) -> object:
        return self._frame.__arrow_c_stream__(requested_schema)


def insert(con: duckdb.DuckDBPyConnection, table: str, frame: pl.DataFrame, **same: object) -> None:
    """Append a frame to a table, column by name; `same` gives columns that are the same in every row."""

    if frame.is_empty():
        return
    names = ", ".join(f'"{name}"' for name in (*frame.columns, *same))
    values = ", ".join([*(f'"{name}"' for name in frame.columns), *("?" for _ in same)])
    # DuckDB finds this variable by its name. A registered view would be kept, frame and all, until the commit.
    incoming_rows = _ArrowStream(frame)
    con.execute(f'INSERT INTO "{table}" ({names}) SELECT {values} FROM incoming_rows', list(same.values())).fetchall()
    del incoming_rows


@contextmanager
def temporary(con: duckdb.DuckDBPyConnection, name: str, frame: pl.DataFrame) -> Iterator[None]:
    """A frame as a temporary table of this name, for as long as the `with` block lasts."""
    incoming_rows = _ArrowStream(frame)
    con.execute(f'CREATE TEMP TABLE "{name}" AS SELECT * FROM incoming_rows').fetchall()
    del incoming_rows
    try:
        yield
    finally:
        con.execute(f'DROP TABLE "{name}"')


def one_row(
    con: duckdb.DuckDBPyConnection, query: str, parameters: Sequence[Any] | Mapping[str, Any] = ()
) -> tuple[Any, ...] | None:
    """The first row of a query, read to its end: an unread result would block the connection."""
    rows = con.execute(query, parameters).fetchall()
    return rows[0] if rows else None


def one_value(con: duckdb.DuckDBPyConnection, query: str, parameters: Sequence[Any] = ()) -> Any:
    """The first cell of a query's first row; None where it has no row."""
    row = one_row(con, query, parameters)
    return row[0] if row else None


def fetch(con: duckdb.DuckDBPyConnection, query: str, parameters: Sequence[Any] = ()) -> pl.DataFrame:
    """The rows of a query as a frame."""
    import polars as pl

    return pl.DataFrame(cast("Any", con.sql(query, params=list(parameters))))
