"""A batch of text rows against a table's pandera model: good rows typed, every fault of every bad row in words."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from dataclasses import dataclass
from itertools import zip_longest
from typing import Any, Final

import polars as pl

from stillroom.house.model import SourceSettings
from stillroom.intake import casting, limits, parting
from stillroom.intake.moments import Clock
from stillroom.intake.shaping import Layout, column_texts
from stillroom.objects import TextBatch
from stillroom_schemas import fields
from stillroom_schemas.table import EXACT_DIGITS, Table

ROW_NUMBER: Final = "row_number"
PROBLEMS: Final = {
    ROW_NUMBER: pl.Int64,
    "column": pl.String,
    "problem": pl.String,
    "value": pl.String,
    "rule": pl.String,
    "row": pl.String,
}
"""Columns of a frame of problems; `rule` sorts them: cell, row, malformed, key, reference."""
NO_PROBLEMS: Final = pl.DataFrame(schema=PROBLEMS).drop("row")
"""None, as they are found: the text of their rows is put to them last."""


@dataclass(frozen=True, kw_only=True)
class Checked:
    """A batch after checking. rows read = good rows + bad rows + passed over."""

    good: pl.DataFrame
    problems: pl.DataFrame
    rows_read: int
    rows_bad: int
    passed_over: int


@dataclass(frozen=True, kw_only=True)
class Wording:
    """How the file at hand is written, as far as checking it needs to know."""

    table: Table
    layout: Layout
    settings: SourceSettings
    fills: Mapping[str, Any]
    """Column -> what an empty cell means."""
    clock: Clock
    venues: tuple[str, ...] = ()
    """The house's venues where there are several: a row must name one of them."""


def check(batch: TextBatch, wording: Wording, schema: Any, lines: TextBatch | None = None) -> Checked:
    """Cast and validate one (shaped) batch against `schema`, the table's pandera schema, in one lazy pass.

    `lines`: the same batch as it stands in the file, whose rows are kept where they are bad; `batch` itself when None.
    """
    rows, numbers = batch.rows, batch.row_numbers.cast(pl.Int64).alias(ROW_NUMBER)
    given = column_texts(rows, wording.layout, wording.settings)
    apart = parting.parted(given, wording.layout, wording.settings, schema)
    nothing = pl.Series([None], dtype=pl.String).new_from_index(0, rows.height)
    texts, typed, unread, problems = {}, {}, {}, []
    for name, column in schema.columns.items():
        dtype = column.dtype.type
        why = apart.reasons.get(name)
        text, values, lost = _read(apart.texts.get(name), nothing, name, column, wording)
        if why is not None:
            values, lost = values.set(why.is_not_null(), None), lost | why.is_not_null()
        if lost.any():
            unread[name] = lost
            said = pl.Series([casting.unreadable(dtype, wording.clock)]).new_from_index(0, rows.height)
            said = said if why is None else why.fill_null(said)
            problems.append(_cells(numbers, lost, name, text, said, "cell"))
        fill = wording.fills.get(name)
        texts[name] = text
        # An unreadable cell keeps its null: it must not pass for an empty one.
        typed[name] = values if fill is None else values.fill_null(fill).set(lost, None)
    _reckon(typed, texts | apart.texts, wording.settings)
    if wording.venues and "venue" in typed:
        problems += _elsewhere(numbers, texts["venue"], wording)
    frame = pl.DataFrame(typed)
    problems += _failed(limits.broken(frame, schema, wording.table), numbers, texts, unread, schema)
    found = pl.concat([*problems, NO_PROBLEMS])
    found = found.unique(subset=[ROW_NUMBER, "column", "problem"], maintain_order=True)
    bad = numbers.is_in(found[ROW_NUMBER].unique().implode())
    good = frame.with_columns(numbers).filter(~bad).with_columns(_exact(schema))
    whole = texts_of(lines or batch, numbers.filter(bad).unique())
    found = found.join(whole, on=ROW_NUMBER, how="left", maintain_order="left")
    malformed = _malformed(batch)
    return Checked(
        good=good,
        problems=pl.concat([found, malformed]),
        rows_read=rows.height + len(batch.malformed) + batch.passed_over,
        rows_bad=int(bad.sum()) + len(batch.malformed),
        passed_over=batch.passed_over,
    )


def _read(
    text: pl.Series | None, nothing: pl.Series, name: str, column: Any, wording: Wording
) -> tuple[pl.Series, pl.Series, pl.Series]:
    """A column's texts and values, and which of its cells cannot be read; `nothing`: texts where it is not there."""
    dtype = column.dtype.type
    if text is None:
        text, values = nothing, nothing.cast(dtype)
    else:
        if dtype != pl.String and not fields.needed(column):
            text = text.set(casting.are_absent(text), None)
        values, text = casting.read(text, name, dtype, wording.clock, wording.settings.decimal)
    allowed = wording.venues if name == "venue" else fields.allowed(column)
    if allowed and dtype == pl.String:
        values = text = casting.spelt_as(text, allowed)
    if values.null_count() == text.null_count():  # no value stands where no text does
        lost = pl.Series([False]).new_from_index(0, len(text))
    else:
        lost = values.is_null() & text.is_not_null()
    if dtype == pl.String and (errors := casting.errors_in(text)) is not None:
        values, lost = values.set(errors, None), lost | errors
    return text, values, lost


def _reckon(typed: dict[str, pl.Series], texts: Mapping[str, pl.Series], settings: SourceSettings) -> None:
    """Turn shares into percentages where no sign says that they are, and take tax out, as the settings say."""
    for name in settings.shares or ():
        if name in typed:
            bare = ~texts[name].str.contains("[%％]").fill_null(False)
            typed[name] = pl.select(pl.when(bare).then(typed[name] * 100).otherwise(typed[name])).to_series()
    if settings.tax_pct is not None and "net_amount" in typed:
        typed["net_amount"] = (typed["net_amount"] / (1 + settings.tax_pct / 100)).round(4)


def _elsewhere(numbers: pl.Series, venue: pl.Series, wording: Wording) -> list[pl.DataFrame]:
    """Rows of no venue of the house. A batch may be the whole house's, and a match hold for all venues; a sale not."""
    unknown = venue.is_not_null() & ~venue.is_in(wording.venues)
    said = f"is none of the venues that stillroom.toml names: {', '.join(wording.venues)}"
    found = [_cells(numbers, unknown, "venue", venue, said, "cell")] if unknown.any() else []
    if wording.table.needs_venue and venue.has_nulls():
        said = "is missing: the house has several venues (constants or venue_in_name of its source can say which)"
        found.append(_cells(numbers, venue.is_null(), "venue", venue, said, "cell"))
    return found


def _exact(schema: Any) -> pl.Expr:
    """Numbers that are kept exactly, as such: the store would take six times as long over it."""
    names = [name for name, column in schema.columns.items() if (column.metadata or {}).get("exact")]
    return pl.col(names).cast(pl.Decimal(*EXACT_DIGITS))


def texts_of(batch: TextBatch, numbers: pl.Series) -> pl.DataFrame:
    """row_number and text of those rows of a batch that have one of the numbers."""
    its = batch.row_numbers.cast(pl.Int64)
    ours = its.is_in(numbers.implode())
    return row_texts(batch.rows.filter(ours), its.filter(ours))


def row_texts(rows: pl.DataFrame, numbers: pl.Series) -> pl.DataFrame:
    """row_number and the whole row as JSON text, heading by heading."""
    texts = [json.dumps(row, ensure_ascii=False) for row in rows.iter_rows(named=True)]
    return pl.DataFrame({ROW_NUMBER: numbers, "row": pl.Series(texts, dtype=pl.String)})


def _failed(
    broken: list[limits.Broken],
    numbers: pl.Series,
    texts: dict[str, pl.Series],
    unread: dict[str, pl.Series],
    schema: Any,
) -> list[pl.DataFrame]:
    found = []
    for one in broken:
        name, rule, words = one.column, "cell", ""
        if name:
            words = _in_words(one.check, schema.columns[name])
        else:
            name, _, words = one.check.partition("|")
            rule = "row"
        places = one.places
        if name in unread:  # an unreadable cell is reported as such, not as missing
            places = places.filter(~unread[name].gather(places))
        if len(places):
            found.append(_told(numbers.gather(places), name, texts[name].gather(places), words, rule))
    return found


def _cells(
    numbers: pl.Series, hit: pl.Series, column: str, text: pl.Series, problem: str | pl.Series, rule: str
) -> pl.DataFrame:
    words = problem if isinstance(problem, str) else problem.filter(hit)
    return _told(numbers.filter(hit), column, text.filter(hit), words, rule)


def _told(numbers: pl.Series, column: str, text: pl.Series, problem: str | pl.Series, rule: str) -> pl.DataFrame:
    return pl.DataFrame({ROW_NUMBER: numbers, "value": casting.tidy(text)}).select(
        pl.col(ROW_NUMBER),
        pl.lit(column).alias("column"),
        pl.lit(problem).alias("problem"),
        pl.col("value"),
        pl.lit(rule).alias("rule"),
    )


def _malformed(batch: TextBatch) -> pl.DataFrame:
    """Malformed rows with their cells under the headings as far as they go, so that they can be corrected too."""
    records = []
    for one in batch.malformed:
        beyond = [f"(beyond the headings {place})" for place in range(1, len(one.cells) - batch.rows.width + 1)]
        cells = zip_longest([*batch.rows.columns, *beyond], one.cells, fillvalue="")
        row = json.dumps(dict(cells), ensure_ascii=False)
        records.append((one.row_number, None, one.problem, None, "malformed", row))
    return pl.DataFrame(records, schema=PROBLEMS, orient="row")


def _in_words(check: str, column: Any) -> str:
    """A pandera check's name, such as 'greater_than(0)', as words after a column's name."""
    kind, _, limit = re.sub(r"\)$", "", check).partition("(")
    if kind == limits.MISSING:
        return "is missing"
    if kind == "isin":
        return f"is not one of: {', '.join(fields.allowed(column))}"
    words = {
        "greater_than": "must be above {}",
        "greater_than_or_equal_to": "must not be below {}",
        "less_than": "must be below {}",
        "less_than_or_equal_to": "must not be above {}",
        "not_equal_to": "must not be {}",
        "str_matches": "must match {}",
    }
    return words[kind].format(limit) if kind in words else f"fails the check {check}"
