"""From a file's rows to a table's columns, as text: what the settings say of how the file is laid out, and no more.

Lines that are no rows (a heading repeated on each page, totals) are passed over and counted; a file with a column for
each day or person is turned so that every filled cell is a row; headings become columns of the table.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field, replace
from typing import Final

import polars as pl

from stillroom.errors import FileRefused
from stillroom.house.model import SourceSettings, Wide
from stillroom.intake import amounts
from stillroom.objects import Malformed, SourceFile, TextBatch

TOTAL_WORDS: Final = ("total", "subtotal", "sub-total", "sub total", "grand total", "sum")
IDLE_HEADINGS: Final = ("average", "avg", "mean", "comment", "comments", "note", "notes", "remark", "remarks")
"""In a wide file, what stands beside the people or days and is none of them."""


@dataclass(frozen=True, kw_only=True)
class Layout:
    """How one file's headings make one table's columns."""

    headings: dict[str, tuple[str, ...]]
    """Column of the table -> heading of the file, or several whose cells are joined by a space."""
    constants: dict[str, str]
    """Column of the table -> what every row says."""
    unused: tuple[str, ...]
    """Headings that fill no column; in a wide file, those whose cells are rows."""
    units: dict[str, str] = field(default_factory=dict)
    """Column of amounts -> the unit that its heading names."""
    counted: dict[str, tuple[str, ...]] = field(default_factory=dict)
    """Column that is made of the rows' order -> the headings within whose cells it is counted."""


def constants(settings: SourceSettings, file: SourceFile) -> dict[str, str]:
    """What holds for all rows of a file: the settings' constants, and the venue in the file's name or the sheet's."""
    found = dict(settings.constants)
    if settings.venue_in_name is not None:
        before, _, after = settings.venue_in_name.partition("{venue}")
        match = re.search(
            re.escape(before) + r"(.+?)" + (re.escape(after) if after else r"(?=\.[^.]*$|$)"), file.path.name
        )
        if match is None and file.sheet is not None:
            text = f", sheet {file.sheet}"
            match = re.search(re.escape(before) + r"(.+?)" + (re.escape(after) if after else "$"), text)
        if match is None:
            raise FileRefused(
                f"{file.name}: its name holds no venue where venue_in_name = '{settings.venue_in_name}' says."
            )
        found["venue"] = match.group(1)
    return found


def shaped(batch: TextBatch, layout: Layout, settings: SourceSettings) -> TextBatch:
    """The batch without lines that are no rows, and turned where the file is wide."""
    batch = _without_totals(_without_repeated_headings(batch), settings, layout)
    return _turned(batch, layout, settings) if settings.wide is not None else batch


def of_the_table(batch: TextBatch, layout: Layout, settings: SourceSettings) -> TextBatch:
    """The (shaped) batch without rows that lack what the settings say a row of the table has."""
    for column in settings.only_with:
        empty = column_texts(batch.rows, layout, settings)[column].fill_null("").str.strip_chars() == ""
        batch = _passed_over(batch, empty)
    return batch


def column_texts(rows: pl.DataFrame, layout: Layout, settings: SourceSettings) -> dict[str, pl.Series]:
    """Column of the table -> its cells as text, for the columns that the file (or the settings) fills."""
    texts = {}
    for column, headings in layout.headings.items():
        if len(headings) == 1:
            texts[column] = rows[headings[0]]
        else:
            joined = pl.concat_str([pl.col(h).str.strip_chars() for h in headings], separator=" ", ignore_nulls=True)
            texts[column] = rows.select(joined.alias(column)).to_series()
    for column, value in layout.constants.items():
        texts[column] = pl.Series(column, [value]).new_from_index(0, rows.height)
    if settings.names_end_at and "till_item" in texts:
        marks = "|".join(map(re.escape, settings.names_end_at))
        texts["till_item"] = texts["till_item"].str.replace(rf"\s*(?:{marks}).*$", "")
    return texts


def _without_repeated_headings(batch: TextBatch) -> TextBatch:
    """Printed exports repeat the heading row on every page."""
    rows = batch.rows
    named = [heading for heading in rows.columns if not heading.startswith("(column ")]
    first = named[0] if named else None
    if first is None or not (rows[first] == first).any():
        return batch
    same = pl.all_horizontal(pl.col(h).str.strip_chars() == h for h in named)
    return _passed_over(batch, rows.select(same.fill_null(False)).to_series())


def _without_totals(batch: TextBatch, settings: SourceSettings, layout: Layout) -> TextBatch:
    """A line whose first filled cell begins with a word for a total, and which lacks a cell that every row needs.

    In a wide file every row may be complete: there, the first cell is to be that word and no more. So may be a day's
    total among till lines: there, the item is.
    """
    words = _words_for_totals(settings)
    pattern = _begins_with(words)
    item = layout.headings.get("till_item", ())
    if len(item) == 1:
        batch = _without_items_called_total(batch, item[0], words)
    hit = _may_begin_with(batch.rows, words)
    if hit.any():
        filled = [pl.when(pl.col(h).str.strip_chars() != "").then(pl.col(h)) for h in batch.rows.columns]
        first = batch.rows.select(pl.coalesce(filled)).to_series()
        starts = first.str.contains(pattern).fill_null(False)
        needed = [
            heading for several in layout.headings.values() for heading in several if heading in batch.rows.columns
        ]
        blank = pl.repeat(False, batch.rows.height, eager=True)
        if needed:
            empty = [pl.col(h).fill_null("").str.strip_chars() == "" for h in needed]
            blank = batch.rows.select(pl.any_horizontal(empty)).to_series()
        if settings.wide is not None:
            blank |= _is_word_for_total(first, settings)
        batch = _passed_over(batch, hit & starts & blank)
    malformed = tuple(m for m in batch.malformed if not _is_total(m, pattern, settings))
    passed = batch.passed_over + len(batch.malformed) - len(malformed)
    return replace(batch, passed_over=passed, malformed=malformed)


def _without_items_called_total(batch: TextBatch, heading: str, words: tuple[str, ...]) -> TextBatch:
    """Compared as written in small letters, capitals, or with a capital: one look at each cell costs least."""
    written = {form for word in words for form in (word, word.upper(), word.capitalize(), word.title())}
    cells = batch.rows[heading] if batch.tidy else batch.rows[heading].str.strip_chars(" :")
    named = cells.is_in(list(written)).fill_null(False)
    return _passed_over(batch, named) if named.any() else batch


def _words_for_totals(settings: SourceSettings) -> tuple[str, ...]:
    return (*TOTAL_WORDS, *(word.casefold() for word in settings.totals))


def _begins_with(words: tuple[str, ...]) -> str:
    return rf"(?i)^\s*(?:{'|'.join(map(re.escape, words))})\b"


def _is_word_for_total(cells: pl.Series, settings: SourceSettings) -> pl.Series:
    """Cells that hold a word for a total and no more."""
    return cells.str.to_lowercase().str.strip_chars(" :").is_in(list(_words_for_totals(settings))).fill_null(False)


def _may_begin_with(rows: pl.DataFrame, words: tuple[str, ...]) -> pl.Series:
    """Rows that may be totals, seen at little cost: the first filled of two cells begins with such a letter."""
    letters = "".join({word[:1] for word in words})
    looked = [pl.col(h).str.contains(rf"(?i)^\s*[{re.escape(letters)}]").fill_null(False) for h in rows.columns[:2]]
    first, *rest = looked
    empty = pl.col(rows.columns[0]).fill_null("").str.strip_chars() == ""
    return rows.select(first | (empty & rest[0]) if rest else first).to_series()


def _is_total(malformed: Malformed, pattern: str, settings: SourceSettings) -> bool:
    """One cell alone may be a row that could not be taken apart: there, only the settings' own words count."""
    first = next((cell for cell in malformed.cells if cell.strip()), "")
    if len(malformed.cells) > 1:
        return re.match(pattern, first) is not None
    return bool(settings.totals) and re.match(_begins_with(settings.totals), first) is not None


def _passed_over(batch: TextBatch, lines: pl.Series) -> TextBatch:
    return TextBatch(
        rows=batch.rows.filter(~lines),
        row_numbers=batch.row_numbers.filter(~lines),
        passed_over=batch.passed_over + int(lines.sum()),
        malformed=batch.malformed,
        tidy=batch.tidy,
    )


def _with_units(long: pl.DataFrame, wide: Wide) -> pl.DataFrame:
    """'Gin (ml)' above 45 as 'Gin' and '45 ml': the unit goes with the number."""
    named = {heading: unit for heading in long[wide.headings_are].unique() if (unit := amounts.unit_inside(heading))}
    if not named:
        return long
    its_unit = pl.col(wide.headings_are).replace_strict(named, default=None, return_dtype=pl.String)
    bare = pl.col(wide.cells_are).str.contains(r"^\s*[\d.,]+\s*$") & its_unit.is_not_null()
    cells = pl.when(bare).then(pl.col(wide.cells_are) + " " + its_unit).otherwise(pl.col(wide.cells_are))
    plain = pl.col(wide.headings_are).replace({heading: amounts.without_unit(heading) for heading in named})
    return long.with_columns(cells.alias(wide.cells_are), plain.alias(wide.headings_are))


def _turned(batch: TextBatch, layout: Layout, settings: SourceSettings) -> TextBatch:
    """Every filled cell under an unused heading as a row of its own; empty ones, totals and remarks are passed over."""
    assert settings.wide is not None
    kept = [heading for heading in batch.rows.columns if heading not in layout.unused]
    number = "(row)"
    long = (
        batch.rows.with_columns(batch.row_numbers.alias(number))
        .unpivot(
            on=[h for h in layout.unused if not h.startswith("(column ")],
            index=[*kept, number],
            variable_name=settings.wide.headings_are,
            value_name=settings.wide.cells_are,
        )
        .sort(number, maintain_order=True)
    )
    long = _with_units(long, settings.wide)
    empty = long[settings.wide.cells_are].fill_null("").str.strip_chars() == ""
    headings = long[settings.wide.headings_are]
    idle = empty | _is_word_for_total(headings, settings) | headings.str.to_lowercase().is_in(list(IDLE_HEADINGS))
    filled = long.filter(~idle)
    return TextBatch(
        rows=filled.drop(number),
        row_numbers=filled[number],
        passed_over=batch.passed_over + int(idle.sum()),
        malformed=batch.malformed,
    )
