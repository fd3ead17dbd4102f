"""Small spec books for tests, as the frames that the store delivers."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from functools import cache
from pathlib import Path
from typing import Any

import duckdb
import polars as pl

from stillroom import model
from stillroom.analysis.specs.views import VIEWS
from stillroom.house.decisions import Decisions
from stillroom.house.house import House
from stillroom.store import derived, layout, opening
from stillroom.store.frames import fetch, insert
from stillroom_schemas import TABLES

BY_NAME = {table.name: table for table in TABLES}
NOTHING_DECIDED = Decisions(Path("decisions.jsonl"))
STANDS = "DELETE FROM standing; INSERT INTO standing VALUES (1, 'sale', 'test', 'book', 1, 1)"
"""The rows of one intake count, whichever tables they are in."""

SPECS = {
    "spec": pl.String,
    "version": pl.Int64,
    "kind": pl.String,
    "yield_amount": pl.Float64,
    "yield_unit": pl.String,
    "keeps_days": pl.Float64,
    "making_minutes": pl.Float64,
    "storage": pl.String,
    "method": pl.String,
    "dilution_pct": pl.Float64,
    "price": pl.Float64,
    "in_service_from": pl.Date,
    "in_service_until": pl.Date,
    "note": pl.String,
}
LINES = {
    "spec": pl.String,
    "version": pl.Int64,
    "line": pl.Int64,
    "item": pl.String,
    "amount": pl.Float64,
    "unit": pl.String,
}
INGREDIENTS = {
    "item": pl.String,
    "pack_amount": pl.Float64,
    "pack_unit": pl.String,
    "pack_cost": pl.Float64,
    "priced_on": pl.Date,
    "usable_pct": pl.Float64,
    "abv_pct": pl.Float64,
    "sugar_pct": pl.Float64,
    "sugar_low": pl.Float64,
    "sugar_high": pl.Float64,
    "acid_pct": pl.Float64,
    "acid_kind": pl.String,
    "known_as": pl.String,
    "acid_low": pl.Float64,
    "acid_high": pl.Float64,
    "density_g_ml": pl.Float64,
    "allergens": pl.String,
}
VERSIONS = ("batch_entry", "batch_made", "version_in_use", "version_span")
"""The tables of the model by which versions are looked up."""
BATCHES = {"batch": pl.String, "ph": pl.Float64}
FATES = {
    "batch": pl.String,
    "preparation": pl.String,
    "version": pl.Int64,
    "made_on": pl.Date,
    "use_by": pl.Date,
    "spoiled_on": pl.Date,
}
"""Of the table `batch` and the view `batch_fate`: the columns that specs are concerned with."""


class Book:
    """Collects rows: `book.spec(...)`, `book.ingredient(...)`, then the three frames."""

    def __init__(self) -> None:
        self._specs: list[dict[str, Any]] = []
        self._lines: list[dict[str, Any]] = []
        self._ingredients: list[dict[str, Any]] = []

    def spec(self, name: str, makes: str, *lines: str, version: int = 1, kind: str | None = None, **cells: Any) -> None:
        """`makes` and each line as 'amount unit' or 'amount unit item': '650 ml', '20 ml gin', '2 imp fl oz gin'."""
        amount, unit = makes.split(" ", 1)
        kind = kind or ("drink" if unit == "serve" else "preparation")
        row = {"spec": name, "version": version, "kind": kind, "yield_amount": float(amount), "yield_unit": unit}
        self._specs.append({**dict.fromkeys(SPECS), **row, **cells})
        for number, text in enumerate(lines, 1):
            amount, unit, item = text.split(" ", 2)
            line = {"line": number, "item": item, "amount": float(amount), "unit": unit}
            self._lines.append({"spec": name, "version": version, **line})

    def ingredient(self, item: str, pack: str = "1000 ml", cost: float | None = None, **cells: Any) -> None:
        amount, unit = pack.split(" ", 1)
        row = {"item": item, "pack_amount": float(amount), "pack_unit": unit, "pack_cost": cost, "usable_pct": 100.0}
        self._ingredients.append({**dict.fromkeys(INGREDIENTS), **row, "priced_on": date(2026, 1, 1), **cells})

    @property
    def specs(self) -> pl.DataFrame:
        return pl.DataFrame(self._specs, schema=SPECS)

    @property
    def lines(self) -> pl.DataFrame:
        return pl.DataFrame(self._lines, schema=LINES)

    @property
    def ingredients(self) -> pl.DataFrame:
        return pl.DataFrame(self._ingredients, schema=INGREDIENTS)

    @property
    def frames(self) -> dict[str, pl.DataFrame]:
        """The views that a `SpecBook` is made from, as a store in memory makes them."""
        con = _memory()
        _fill(con, self)
        derived.make_current(con, BY_NAME)
        derived.build(con, _house(Path()), *model.FOR_DENSITIES, *VERSIONS)
        return _fetched(con, VIEWS)

    def views(self, *names: str, **tables: pl.DataFrame) -> dict[str, pl.DataFrame]:
        """Views that the store makes of the book, and of rows of other tables by their name."""
        con = _memory()
        _fill(con, self, **tables)
        derived.make_derived(con, _house(Path()), BY_NAME, NOTHING_DECIDED)
        return _fetched(con, names)


@cache
def _memory() -> duckdb.DuckDBPyConnection:
    con = duckdb.connect()
    layout.create_tables(con, TABLES)
    derived.make_derived(con, _house(Path()), BY_NAME, NOTHING_DECIDED)
    return con


def kitchen() -> Book:
    """A book with the usual bottles: alcohol, sugar, acid and water stated."""
    book = Book()
    book.ingredient("gin", "700 ml", 14.0, abv_pct=40.0)
    book.ingredient("spirit", "1000 ml", 30.0, abv_pct=96.0)
    book.ingredient("ethanol", "1000 ml", 40.0, abv_pct=100.0)
    book.ingredient("sugar", "1000 g", 1.5, sugar_pct=100.0)
    book.ingredient("citric acid", "500 g", 6.0, acid_pct=100.0)
    book.ingredient("lemon juice", "1000 g", 4.0, usable_pct=40.0, sugar_pct=2.5, acid_pct=4.8, density_g_ml=1.03)
    book.ingredient("egg white", "1000 g", 8.0, abv_pct=0.0, density_g_ml=1.04, allergens="egg")
    return book


def stored(folder: Path, book: Book, views: Iterable[str], **tables: pl.DataFrame) -> dict[str, pl.DataFrame]:
    """The views that the store in a folder makes of a book, and of rows of other tables by their name."""
    with opening.writing(_house(folder), TABLES) as con:
        _fill(con, book, **tables)
        derived.make_derived(con, _house(folder), BY_NAME, NOTHING_DECIDED)
        return _fetched(con, views)


def spec_views(specs: pl.DataFrame, *names: str) -> dict[str, pl.DataFrame]:
    """Views that the store makes of versions of which only some columns are given."""
    usual = {"kind": "drink", "yield_amount": 1.0, "yield_unit": "serve"}
    empty = [pl.lit(usual.get(name), kind).alias(name) for name, kind in SPECS.items() if name not in specs.columns]
    book = Book()
    book._specs = specs.with_columns(empty).select(*SPECS).to_dicts()
    return book.views(*names)


def _house(folder: Path) -> House:
    return House(folder=folder, name="Test", currency="EUR", venues=("Test",))


def _fill(con: duckdb.DuckDBPyConnection, book: Book, **tables: pl.DataFrame) -> None:
    for table in TABLES:
        con.execute(f"DELETE FROM {table.name}")
    con.execute(STANDS)
    rows = {"spec": book.specs, "spec_line": book.lines, "ingredient": book.ingredients, **tables}
    for name, frame in rows.items():
        places = {"intake_id": pl.lit(1), "file": pl.lit("book"), "row_number": pl.int_range(pl.len())}
        insert(con, name, frame.with_columns(**places))


def _fetched(con: duckdb.DuckDBPyConnection, views: Iterable[str]) -> dict[str, pl.DataFrame]:
    return {view: fetch(con, f"SELECT * FROM {view} ORDER BY ALL") for view in views}
