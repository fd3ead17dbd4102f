"""All of a change to the store, or nothing of it."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager, suppress
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import duckdb


@contextmanager
def transaction(con: duckdb.DuckDBPyConnection) -> Iterator[None]:
    """Everything inside happens, or nothing does; Ctrl-C is no exception."""
    import duckdb

    con.execute("BEGIN")
    try:
        yield
        con.execute("COMMIT")
    except BaseException:
        with suppress(duckdb.Error):  # it may be rolled back already; what matters is the error that led here
            con.execute("ROLLBACK")
        raise
