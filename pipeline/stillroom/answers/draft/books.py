"""The spec book with its costs: as the store has it, and as it would be with other lines in one version."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import polars as pl

from stillroom.analysis.specs.book import Line, SpecBook, SpecVersion
from stillroom.analysis.specs.composition import Composition
from stillroom.analysis.specs.costing import PartCosts, costs_on, net_per_serve
from stillroom.analysis.specs.ingredients import Ingredient
from stillroom.analysis.specs.sheet import SpecSheet, spec_sheet
from stillroom.analysis.specs.versions import LAST_OF_DAYS
from stillroom.analysis.specs.views import VIEWS
from stillroom.names import key_of, name_key
from stillroom.store.what_if import what_if

if TYPE_CHECKING:
    import duckdb

NEEDS: Final = (*VIEWS, "part_cost", "last_day")
"""Views a book is made from."""


@dataclass(frozen=True, kw_only=True)
class Book:
    """A spec book with its costs, as the store has it or as it would have it."""

    composition: Composition
    costs: PartCosts
    daily_serves: pl.DataFrame

    def spelling(self, item: str) -> str | None:
        """How an item is spelt in the book; None where the book does not hold it."""
        book = self.composition.book
        if book.is_spec(item):
            return book.in_service(item).spec
        ingredient = book.ingredient(item)
        return ingredient.item if ingredient else None

    def sheet(self, spec: SpecVersion) -> SpecSheet:
        """Amounts, figures and cost of a version."""
        net = net_per_serve(self.daily_serves, spec.spec, spec.version) if spec.kind == "drink" else None
        return spec_sheet(self.composition, self.costs, spec, net_per_serve=net)


def frames_of(con: duckdb.DuckDBPyConnection) -> dict[str, pl.DataFrame]:
    """What a draft reads of the store."""
    from stillroom.answers.reporting import view_frames

    return view_frames(con, (*NEEDS, "daily_serves", "current_batch", "batch_fate"))


def book_of(frames: Mapping[str, pl.DataFrame]) -> Book:
    """The book on the last day in the files."""
    day = frames["last_day"].item() or LAST_OF_DAYS
    costs = costs_on(frames["part_cost"], day)
    return Book(composition=Composition(SpecBook(frames, day)), costs=costs, daily_serves=frames["daily_serves"])


def as_if(
    con: duckdb.DuckDBPyConnection, frames: Mapping[str, pl.DataFrame], spec: SpecVersion, lines: Iterable[Line]
) -> tuple[Book, SpecVersion]:
    """The book as if a version had these lines, and that version in it.

    What comes out of a preparation grows or shrinks with what goes in: as much is lost on the way as today.
    """
    rows = {
        "spec": frames["current_spec"],
        "spec_line": _with_lines(frames["current_spec_line"], spec, lines),
    }
    with what_if(con, rows):
        book = _book_now(con, frames)
    new = book.composition.book.specs[spec.key]
    more = _goes_in(book, new) / (_goes_in(book_of(frames), spec) or 1.0)
    if spec.kind != "drink" and spec.yield_base != "each" and more > 0:
        own = (key_of(pl.col("spec")) == name_key(spec.spec)) & (pl.col("version") == spec.version)
        grown = pl.when(own).then(pl.col("yield_amount") * more).otherwise("yield_amount").alias("yield_amount")
        with what_if(con, {**rows, "spec": frames["current_spec"].with_columns(grown)}):
            book = _book_now(con, frames)
    return book, book.composition.book.specs[spec.key]


def with_bought(
    con: duckdb.DuckDBPyConnection, frames: Mapping[str, pl.DataFrame], item: Ingredient
) -> tuple[str, dict[str, pl.DataFrame]]:
    """What that is called, and what a draft reads: a litre or a kilogram of something bought as if a preparation."""
    from stillroom.answers.reporting import view_frames

    name, unit = f"{item.item}, changed", "ml" if item.liquid else "g"
    spec = {"spec": name, "version": 1, "kind": "preparation", "yield_amount": 1000.0, "yield_unit": unit}
    line = {"spec": name, "version": 1, "line": 1, "item": item.item, "amount": 1000.0, "unit": unit}
    rows = {"spec": _with_row(frames["current_spec"], spec), "spec_line": _with_row(frames["current_spec_line"], line)}
    with what_if(con, rows):
        return name, {**frames, **view_frames(con, NEEDS)}


def _with_row(frame: pl.DataFrame, row: Mapping[str, object]) -> pl.DataFrame:
    schema = {column: frame.schema[column] for column in row}
    return pl.concat([frame, pl.DataFrame([row], schema=schema)], how="diagonal")


def _book_now(con: duckdb.DuckDBPyConnection, frames: Mapping[str, pl.DataFrame]) -> Book:
    """The book as the store has it at the moment; what was sold and made is as before."""
    from stillroom.answers.reporting import view_frames

    return book_of({**frames, **view_frames(con, NEEDS)})


def _goes_in(book: Book, spec: SpecVersion) -> float:
    contents = book.composition.making(spec).contents
    return contents.mass_g if spec.yield_base == "g" else contents.volume_ml


def _with_lines(frame: pl.DataFrame, spec: SpecVersion, lines: Iterable[Line]) -> pl.DataFrame:
    own = (key_of(pl.col("spec")) == name_key(spec.spec)) & (pl.col("version") == spec.version)
    rows = [
        {"spec": spec.spec, "version": spec.version, "line": place, "item": line.item, "amount": line.amount,
         "unit": line.unit}
        for place, line in enumerate(lines, 1)
    ]  # fmt: skip
    new = pl.DataFrame(rows, schema_overrides={"version": pl.Int64, "line": pl.Int64, "amount": pl.Float64})
    return pl.concat([frame.filter(~own), new.cast({c: t for c, t in frame.schema.items() if c in new.columns})],
                     how="diagonal")  # fmt: skip
