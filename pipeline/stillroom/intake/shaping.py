"""From a file's rows to a table's columns, as text: what the settings say of how the file is laid out, and no more.

Lines that are no rows (a heading repeated on each page, totals) are passed over and counted; a file with a column for
each day or person is turned so that every filled cell is a row; headings become columns of the table.
"""

from __future__ import annotations

import re
import tomllib
from dataclasses import dataclass, field, replace
from functools import cache
from pathlib import Path
from typing import Final

import polars as pl

from stillroom.errors import FileRefused
from stillroom.house.model import SourceSettings, Wide
from stillroom.intake import amounts, casting, values
from stillroom.objects import Malformed, SourceFile, TextBatch
from stillroom.reading.blanks import blank, blank_rows
from stillroom.reading.nameless import is_nameless

ROW_WORDS: Final = Path(__file__).with_name("row_words.toml")
TITLE, SHEET, FILE, NOTES = "(title)", "(sheet)", "(file)", "(notes)"
AROUND: Final = (TITLE, SHEET, FILE, NOTES)
"""What stands around the rows of a book, as headings."""
KIND, YIELD = "(kind)", "(yield)"
"""Of specs that are told apart by what their rows say."""
COMMENT: Final = "(comment)"
"""What is said in words in a row of a wide file, for each of its people."""
MINUS: Final = r"[-\u2010-\u2015\u2212(]"
NAMES: Final = ("till_item", "item", "preparation", "panelist")
"""Columns of names that no sum has: a line whose name is a word for a sum is none."""


@cache
def row_words(kind: str) -> tuple[str, ...]:
    """Words by or before lines that are no rows, in small letters; `kind`: totals, means, remarks, method, voids."""
    return tuple(tomllib.loads(ROW_WORDS.read_text(encoding="utf-8"))[kind])


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
    batch = _with_voids(_without_methods(batch, layout), layout, settings)
    return _turned(batch, layout, settings) if settings.wide is not None else batch


def are_voids(rows: pl.DataFrame, layout: Layout) -> pl.Series:
    """Lines that a column beside those that are read marks as a void or refund (a mask)."""
    beside = [heading for heading in layout.unused if heading in rows.columns]
    words = row_words("voids")
    marked = pl.repeat(False, rows.height, eager=True)
    for heading in beside:
        asks = not {*words}.isdisjoint(re.findall(r"[^\W\d_]+", heading.casefold()))  # 'Void?' above Y and N
        told = [*words, *values.spellings(["yes"]), "1"] if asks else list(words)
        marked |= rows[heading].str.to_lowercase().str.strip_chars(" .:").is_in(told).fill_null(False)
    return marked


def _with_voids(batch: TextBatch, layout: Layout, settings: SourceSettings) -> TextBatch:
    """Where the settings say so, voids and refunds left out, or with a minus before numbers that have none."""
    if settings.voids in (None, "as they stand"):
        return batch
    marked = are_voids(batch.rows, layout)
    numbers = [h for name in ("quantity", "net_amount") for h in layout.headings.get(name, ()) if h in batch.rows]
    plain = {h: marked & ~batch.rows[h].str.contains(MINUS).fill_null(False) for h in numbers}
    if settings.voids == "left out":
        return batch.passing_over(pl.DataFrame(plain).select(pl.all_horizontal(pl.all())).to_series())
    minus = [pl.when(hit).then("-" + batch.rows[h]).otherwise(batch.rows[h]).alias(h) for h, hit in plain.items()]
    return replace(batch, rows=batch.rows.with_columns(minus))


def of_the_table(batch: TextBatch, layout: Layout, settings: SourceSettings) -> TextBatch:
    """The (shaped) batch without rows that lack what the settings say a row of the table has."""
    if settings.wide is None:
        batch = batch.passing_over(_says_nothing(batch, layout, settings))
    for column in settings.only_with:
        batch = batch.passing_over(blank(column_texts(batch.rows, layout, settings)[column]))
    return batch


def _says_nothing(batch: TextBatch, layout: Layout, settings: SourceSettings) -> pl.Series:
    """Rows that are blank under every heading that is read, such as those of a table beside it (a mask)."""
    read = {h for column, several in layout.headings.items() if column not in settings.fill_down for h in several}
    read = {h for h in read if h in batch.rows.columns and not h.startswith("(")} - layout.counted.keys()
    if not read:
        return pl.Series([False]).new_from_index(0, batch.rows.height)
    return blank_rows(batch.rows, sorted(read))


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
    named = [heading for heading in rows.columns if not is_nameless(heading)]
    first = named[0] if named else None
    if first is None or not (rows[first] == first).any():
        return batch
    same = pl.all_horizontal(pl.col(h).str.strip_chars() == h for h in named)
    return batch.passing_over(rows.select(same.fill_null(False)).to_series())


def _without_totals(batch: TextBatch, settings: SourceSettings, layout: Layout) -> TextBatch:
    """A line whose first filled cell begins with a word for a total, and which lacks a cell that every row needs.

    In a wide file every row may be complete: there, the first cell is to be that word and no more. So may be a day's
    total among till lines: there, the item is.
    """
    words = _words_for_totals(settings)
    pattern = _begins_with(words)
    for name in NAMES:
        heading = layout.headings.get(name, ())
        if len(heading) == 1 and heading[0] in batch.rows.columns:
            batch = _without_items_called_total(batch, heading[0], (*words, *row_words("means")))
    attribute = layout.headings.get("attribute", ())
    if settings.wide is not None and len(attribute) == 1 and attribute[0] in batch.rows.columns:
        batch = _without_items_called_total(batch, attribute[0], row_words("means"))
    needed = [h for several in layout.headings.values() for h in several if h in batch.rows.columns]
    lacks = pl.repeat(False, batch.rows.height, eager=True)
    for name in needed:
        lacks |= blank(batch.rows[name])
    if settings.wide is not None:
        lacks |= _is_word_for_total(_first_filled(batch.rows), settings)
    places = lacks.arg_true()  # in most lines nothing is blank
    if len(places):
        starts = _first_filled(batch.rows[places]).str.contains(pattern).fill_null(False)
        batch = batch.passing_over(lacks.scatter(places, starts))
    malformed = tuple(m for m in batch.malformed if not _is_total(m, pattern, settings))
    passed = batch.passed_over + len(batch.malformed) - len(malformed)
    return replace(batch, passed_over=passed, malformed=malformed)


def _without_items_called_total(batch: TextBatch, heading: str, words: tuple[str, ...]) -> TextBatch:
    """Compared as written in small letters, capitals, or with a capital. Of names there are few different ones."""
    written = {form for word in words for form in (word, word.upper(), word.capitalize(), word.title())}
    cells = batch.rows[heading]
    names = cells.unique()
    called = names.filter(names.str.strip_chars(" :").is_in(list(written)))
    return batch.passing_over(cells.is_in(called.implode()).fill_null(False)) if len(called) else batch


def _without_methods(batch: TextBatch, layout: Layout) -> TextBatch:
    """Lines below a spec's own that say how it is made: 'Method: shake', or 'Method' with no amount beside it."""
    item, amount = (layout.headings.get(name, ()) for name in ("item", "amount"))
    if len(item) != 1 or len(amount) != 1 or item == amount or not {*item, *amount} <= {*batch.rows.columns}:
        return batch
    words = "|".join(map(re.escape, sorted((*row_words("method"), *row_words("remarks")), key=len, reverse=True)))
    says = batch.rows[item[0]].str.contains(rf"(?i)^\s*(?:{words})\s*(?::|$)").fill_null(False)
    counts = batch.rows[amount[0]].str.contains(r"\d").fill_null(False)
    return batch.passing_over(says & ~counts)


def _words_for_totals(settings: SourceSettings) -> tuple[str, ...]:
    return (*row_words("totals"), *(word.casefold() for word in settings.totals))


def _begins_with(words: tuple[str, ...]) -> str:
    return rf"(?i)^\s*(?:{'|'.join(map(re.escape, words))})\b"


def _is_word_for_total(cells: pl.Series, settings: SourceSettings) -> pl.Series:
    """Cells that hold a word for a total and no more."""
    return cells.str.to_lowercase().str.strip_chars(" :").is_in(list(_words_for_totals(settings))).fill_null(False)


def _first_filled(rows: pl.DataFrame) -> pl.Series:
    """The first filled one of the first two cells, where there is one."""
    filled = [pl.when(pl.col(h).str.strip_chars() != "").then(pl.col(h)) for h in rows.columns[:2]]
    return rows.select(pl.coalesce(filled)).to_series()


def _is_total(malformed: Malformed, pattern: str, settings: SourceSettings) -> bool:
    """One cell alone may be a row that could not be taken apart: there, only the settings' own words count."""
    first = next((cell for cell in malformed.cells if cell.strip()), "")
    if len(malformed.cells) > 1:
        return re.match(pattern, first) is not None
    return bool(settings.totals) and re.match(_begins_with(settings.totals), first) is not None


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


def _with_comments(long: pl.DataFrame, kept: list[str], layout: Layout, wide: Wide) -> tuple[pl.DataFrame, pl.Series]:
    """What each person said in a row of comments, beside all that the person scored there; and which rows those are."""
    if layout.headings.get("comment") != (COMMENT,):
        return long, pl.Series([False]).new_from_index(0, long.height)
    [attribute] = layout.headings["attribute"]
    plain = long[attribute].fill_null("").str.to_lowercase().str.strip_chars(" :")
    remarks = plain.is_in(list(row_words("remarks")))
    around = [*(heading for heading in kept if heading not in (attribute, COMMENT)), wide.headings_are]
    words = long.filter(remarks & (long[wide.cells_are].fill_null("").str.strip_chars() != ""))
    said = words.group_by(around, maintain_order=True).agg(pl.col(wide.cells_are).str.join("; ").alias(COMMENT))
    return long.join(said, on=around, how="left", nulls_equal=True, maintain_order="left"), remarks


def _turned(batch: TextBatch, layout: Layout, settings: SourceSettings) -> TextBatch:
    """Every filled cell under an unused heading as a row of its own; empty ones, totals and remarks are passed over."""
    assert settings.wide is not None
    kept = [heading for heading in batch.rows.columns if heading not in layout.unused]
    number = "(row)"
    long = (
        batch.rows.with_columns(batch.row_numbers.alias(number))
        .unpivot(
            on=[h for h in layout.unused if not is_nameless(h)],
            index=[*kept, number],
            variable_name=settings.wide.headings_are,
            value_name=settings.wide.cells_are,
        )
        .sort(number, maintain_order=True)
    )
    long = _with_units(long, settings.wide)
    long, remarks = _with_comments(long, kept, layout, settings.wide)
    cells = long[settings.wide.cells_are].fill_null("")
    none = casting.are_absent(cells)
    if settings.wide.cells_are != "score":  # a cross in a grid of drinks says that there is some of it
        none &= ~cells.str.contains(r"(?i)[x×✗?]")
    empty = (cells.str.strip_chars() == "") | none
    headings = long[settings.wide.headings_are]
    plain = headings.str.to_lowercase().str.strip_chars(" :")
    idle = empty | remarks | _is_word_for_total(headings, settings)
    idle = idle | plain.is_in([*row_words("means"), *row_words("remarks")])
    filled = long.filter(~idle)
    return TextBatch(
        rows=filled.drop(number),
        row_numbers=filled[number],
        passed_over=batch.passed_over + int(idle.sum()),
        malformed=batch.malformed,
    )
