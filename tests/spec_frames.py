"""Small spec books for tests, as the frames that the store delivers."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from pathlib import Path
from typing import Any

import duckdb
import polars as pl

from stillroom import model
from stillroom.analysis.specs.views import VIEWS
from stillroom.store import derived, opening
from stillroom.store.frames import fetch, insert
from stillroom_schemas import TABLES
from store_frames import BY_NAME, NOTHING_DECIDED, house_at, memory

STANDS = "DELETE FROM standing; INSERT INTO standing VALUES (1, 'sale', 'test', 'book', 1, 1)"
"""The rows of one intake count, whichever tables they are in."""

SPECS, LINES, INGREDIENTS = (
    {name: column.dtype.type for name, column in BY_NAME[table].schema().columns.items()}
    for table in ("spec", "spec_line", "ingredient")
)
VERSIONS = ("batch_entry", "batch_made", "version_in_use", "version_span")
"""The tables of the model by which versions are looked up."""


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
        con = memory()
        _fill(con, self)
        derived.make_current(con, BY_NAME)
        derived.build(con, house_at(Path()), *model.FOR_DENSITIES, *VERSIONS)
        return _fetched(con, VIEWS)

    def views(self, *names: str, **tables: pl.DataFrame) -> dict[str, pl.DataFrame]:
        """Views that the store makes of the book, and of rows of other tables by their name."""
        con = memory()
        _fill(con, self, **tables)
        derived.make_derived(con, house_at(Path()), BY_NAME, NOTHING_DECIDED)
        return _fetched(con, names)


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
    with opening.writing(house_at(folder), TABLES) as con:
        _fill(con, book, **tables)
        derived.make_derived(con, house_at(folder), BY_NAME, NOTHING_DECIDED)
        return _fetched(con, views)


def spec_views(specs: pl.DataFrame, *names: str) -> dict[str, pl.DataFrame]:
    """Views that the store makes of versions of which only some columns are given."""
    usual = {"kind": "drink", "yield_amount": 1.0, "yield_unit": "serve"}
    empty = [pl.lit(usual.get(name), kind).alias(name) for name, kind in SPECS.items() if name not in specs.columns]
    book = Book()
    book._specs = specs.with_columns(empty).select(*SPECS).to_dicts()
    return book.views(*names)


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
