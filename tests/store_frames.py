"""Frames as the store delivers them: the columns of its views and tables, and their types, are read from it."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache
from pathlib import Path
from typing import Any

import duckdb
import polars as pl

from stillroom.house.decisions import Decisions
from stillroom.house.house import House
from stillroom.store import derived, layout
from stillroom.store.frames import fetch
from stillroom_schemas import TABLES

BY_NAME = {table.name: table for table in TABLES}
NOTHING_DECIDED = Decisions(Path("decisions.jsonl"))


def house_at(folder: Path) -> House:
    return House(folder=folder, name="Test", currency="EUR", venues=("Test",))


@cache
def memory() -> duckdb.DuckDBPyConnection:
    """A store in memory in which nothing has landed."""
    con = duckdb.connect()
    layout.create_tables(con, TABLES)
    derived.make_derived(con, house_at(Path()), BY_NAME, NOTHING_DECIDED)
    return con


@cache
def columns(view: str, names: str = "*") -> dict[str, pl.DataType]:
    """Columns of a view or table with their types: those named, with a space between, else all."""
    chosen = ", ".join(f'"{name}"' for name in names.split()) if names != "*" else names
    return dict(fetch(memory(), f"SELECT {chosen} FROM {view} LIMIT 0").schema)


def frame(view: str, rows: Sequence[Any] = (), names: str = "*") -> pl.DataFrame:
    """Rows of a view, as tuples in the order of its columns (of those named), or as dictionaries."""
    return pl.DataFrame(rows, schema=columns(view, names), orient="row")
