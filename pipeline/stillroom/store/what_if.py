"""The store as if some of its tables held other rows: for drafts and what-ifs, by the very rules of the views."""

from __future__ import annotations

from collections.abc import Container, Iterator, Mapping
from contextlib import ExitStack, contextmanager
from typing import TYPE_CHECKING

from stillroom import model
from stillroom.store import frames, worked_out

if TYPE_CHECKING:
    import duckdb
    import polars as pl


@contextmanager
def what_if(con: duckdb.DuckDBPyConnection, rows: Mapping[str, pl.DataFrame]) -> Iterator[None]:
    """Within it, `current_NAME` holds these rows, and every view follows; nothing is written to the store.

    A name in a query means a temporary table where there is one of that name, also within a view.

    Args:
        rows: table -> its rows, with the columns of `current_NAME`.
    """
    with ExitStack() as instead:
        for table, frame in rows.items():
            instead.enter_context(frames.temporary(con, f"current_{table}", frame))
        instead.callback(_drop, con)
        _build(con, model.FOR_DENSITIES)
        for table, frame in worked_out.density_tables(con).items():
            instead.enter_context(frames.temporary(con, table, frame))
        _build(con, model.WITH_DENSITIES)
        yield


def _build(con: duckdb.DuckDBPyConnection, names: Container[str]) -> None:
    for view in (view for view in model.views() if view.name in names):
        con.execute(f"CREATE OR REPLACE TEMP TABLE {view.name} AS {view.sql}")


def _drop(con: duckdb.DuckDBPyConnection) -> None:
    con.execute("".join(f"DROP TABLE IF EXISTS temp.{name};" for name in model.BUILT))
