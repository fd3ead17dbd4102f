"""The store as if the spec book said what a what-if says: what reports on it are handed."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import timedelta
from typing import TYPE_CHECKING

from stillroom.names import key_of, name_key
from stillroom.store import frames
from stillroom.store.what_if import what_if

if TYPE_CHECKING:
    import duckdb
    import polars as pl

    from stillroom.answers.menu.what_if import WhatIf


@contextmanager
def as_if(con: duckdb.DuckDBPyConnection, found: WhatIf) -> Iterator[None]:
    """Within it, every view follows the spec book as the what-if has it; nothing is written to the store."""
    spec = frames.fetch(con, "SELECT * FROM current_spec ORDER BY ALL")
    with what_if(con, {"spec": changed_book(spec, found)}):
        yield


def changed_book(spec: pl.DataFrame, found: WhatIf) -> pl.DataFrame:
    """The rows of `current_spec` with the what-if's changes.

    Dropped drinks go out of service on the last day in the files, new ones come in the day after; a price is that of
    the version in service, a keep that of every version. How much is made at a time is no matter of the book.
    """
    import polars as pl

    key, since, until = key_of(pl.col("spec")), pl.col("in_service_from"), pl.col("in_service_until")
    last, change = found.last_day, found.change
    serving = until.is_null() | (until > last)
    dropped = key.is_in([name_key(name) for name in change.drop]) & serving
    added = pl.any_horizontal(
        pl.lit(False),
        *((key == name_key(one.drink)) & (pl.col("version") == one.version) for one in found.coming),
    )
    prices = {name_key(name): price for name, price in change.prices.items()}
    keeps = {name_key(name): days for name, days in change.keeps.items()}
    return spec.with_columns(
        pl.when(dropped).then(pl.lit(last)).when(added).then(None).otherwise(until).alias("in_service_until"),
        pl.when(added).then(pl.lit(last + timedelta(days=1))).otherwise(since).alias("in_service_from"),
        _where(key, prices, "price", serving | added).cast(spec.schema["price"]),
        _where(key, keeps, "keeps_days", pl.lit(True)),
    )


def _where(key: pl.Expr, values: dict[str, float], column: str, rows: pl.Expr) -> pl.Expr:
    """A column with other values for some names, in some rows."""
    import polars as pl

    found = pl.col(column).cast(pl.Float64)
    for name, value in values.items():
        found = pl.when((key == name) & rows).then(pl.lit(float(value))).otherwise(found)
    return found.alias(column)
