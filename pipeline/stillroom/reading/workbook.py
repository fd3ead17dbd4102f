"""Reads a sheet of a workbook (XLSX, XLS, ODS): all cells as text, rows under the numbers that a spreadsheet shows.

Formulas count as the values that were saved with them. Cells that are dates come out as ISO 8601, times as 21:05:00,
whole numbers without '.0', percentages as '40 %', true and false as yes and no, and a cell that shows an error as that
(#N/A; of an XLSX workbook, else as empty). Hidden sheets are passed over, unless the settings name one.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from fnmatch import fnmatchcase
from typing import Final

import polars as pl

from stillroom.errors import FileRefused
from stillroom.objects import SourceFile, TextBatch
from stillroom.reading.books import Book, BookSheet, opened_book
from stillroom.reading.delimited import named, refuse_too_wide
from stillroom.reading.shown import as_seen
from stillroom.reading.typed import NO, YES

HEADING_ROWS: Final = 60  # how far down a heading row is looked for
MOMENT: Final = r"^\d{4}-\d\d-\d\d \d\d:\d\d:\d\d(?:\.\d+)?$"
DECIMAL: Final = r"^-?\d+\.\d+(?: %)?$"
NO_DAY: Final = r"^1899-12-3[01] "  # a time of day alone is a moment of the day before the first


@dataclass(frozen=True, kw_only=True)
class Sheet:
    """A sheet, and the row of headings in it."""

    name: str
    cells: pl.DataFrame
    """All its cells as text, from the first row on."""
    heading_row: int
    """Its number, from 1; 0 where the sheet has no filled cell."""
    known: frozenset[str]
    """Which of the headings looked for it has."""


def read_headings(file: SourceFile) -> list[str]:
    """The headings of the sheet that has most of the headings looked for, or of the sheet that the settings name.

    Raises:
        FileRefused: damaged, with a password, bigger than can be held, empty, or without such a sheet.
    """
    return _headings(file, chosen_sheet(file))


def read_batches(file: SourceFile) -> Iterator[TextBatch]:
    """The rows below the headings, as one batch; blank rows are passed over and counted.

    Raises:
        FileRefused: as `read_headings`.
    """
    sheet = chosen_sheet(file)
    rows = sheet.cells.slice(sheet.heading_row)
    rows = rows.rename(dict(zip(rows.columns, _headings(file, sheet), strict=True)))
    numbers = pl.int_range(sheet.heading_row + 1, sheet.heading_row + 1 + rows.height, eager=True)
    blank = rows.select(pl.all_horizontal(pl.all().fill_null("").str.strip_chars() == "")).to_series()
    rows = rows.filter(~blank)
    rows = rows.select(as_written(rows[heading]) for heading in rows.columns)
    yield TextBatch(rows=rows, row_numbers=numbers.filter(~blank), passed_over=int(blank.sum()))


def sheet_names(file: SourceFile) -> list[str]:
    """The names of all sheets, in order."""
    with _faults_named(file):
        return list(opened_book(file).sheets)


def sheets_meant(file: SourceFile, patterns: Sequence[str]) -> list[str]:
    """The sheets that names or patterns mean, in the order of the workbook; a name that no sheet has comes last.

    A pattern ('2026-*') means no hidden sheet, and none without a filled cell. No sheet's name can hold its marks.

    Raises:
        FileRefused: as `read_headings`.
    """
    wanted = [" ".join(pattern.split()).casefold() for pattern in patterns]
    with _faults_named(file):
        book = opened_book(file)
        plain = {name: " ".join(name.split()).casefold() for name in book.sheets}
        meant = [
            name
            for name, text in plain.items()
            if text in wanted or (any(fnmatchcase(text, one) for one in wanted) and _shows_something(book.sheets[name]))
        ]
    missing = [
        pattern
        for pattern, one in zip(patterns, wanted, strict=True)
        if not any(fnmatchcase(plain[name], one) for name in meant)
    ]
    return [*meant, *missing]


def _shows_something(sheet: BookSheet) -> bool:
    return sheet.shown and any(any(map(_tidy, row)) for row in sheet.cells.iter_rows())


def first_rows(file: SourceFile) -> dict[str, list[tuple[int, list[str]]]]:
    """Sheet -> its first filled rows with their numbers.

    Raises:
        FileRefused: as `read_headings`.
    """
    with _faults_named(file):
        sheets = {sheet.name: sheet.cells.head(HEADING_ROWS) for sheet in _sheets(file, opened_book(file))}
    return {
        name: [(number, row) for number, cells in enumerate(rows.iter_rows(), 1) if any(row := [*map(_tidy, cells)])]
        for name, rows in sheets.items()
    }


def chosen_sheet(file: SourceFile) -> Sheet:
    """The sheet that is read.

    Raises:
        FileRefused: as `read_headings`; or several sheets have the same headings, and the settings name none.
    """
    with _faults_named(file):
        book = opened_book(file)
        sheets = _sheets(file, book)
        best = max(sheets, key=lambda sheet: len(sheet.known))  # of equals the first
        alike = _alike(sheets, best)
        if alike:
            raise FileRefused(
                f"{file.name}: its sheets {', '.join(repr(sheet.name) for sheet in (best, *alike))} have the same "
                "headings, and unless told one sheet is read: name those to read by "
                'sheet = "...", or all by sheet = "*", under its [[source]] in stillroom.toml.'
            )
        cells = as_seen(book.content, best.name, best.cells)
        return replace(best, cells=_with_comma(cells, book.sheets[best.name].numbers) if file.decimal == "," else cells)


def _with_comma(cells: pl.DataFrame, numbers: pl.DataFrame) -> pl.DataFrame:
    """The cells with numbers written as the texts beside them are: with a decimal comma."""
    columns = []
    for name in cells.columns:
        text = cells[name]
        number = numbers[name] & text.str.contains(DECIMAL).fill_null(False)
        comma = text.str.replace(".", ",", literal=True)
        columns.append(pl.select(pl.when(number).then(comma).otherwise(text).alias(name)).to_series())
    return pl.DataFrame(columns)


def sheets_like(file: SourceFile, chosen: Sheet) -> list[str]:
    """The other sheets with the headings of the one that is read: they are not.

    Raises:
        FileRefused: as `read_headings`.
    """
    with _faults_named(file):
        return [sheet.name for sheet in _alike(_sheets(replace(file, sheet=None), opened_book(file)), chosen)]


def _alike(sheets: list[Sheet], chosen: Sheet) -> list[Sheet]:
    """The other sheets that have the same known headings, two at least, and rows below them."""
    return [
        sheet
        for sheet in sheets
        if sheet.name != chosen.name
        and sheet.known == chosen.known
        and len(sheet.known) > 1
        and sheet.cells.height > sheet.heading_row
    ]


@contextmanager
def _faults_named(file: SourceFile) -> Iterator[None]:
    try:
        yield
    except FileRefused:
        raise
    except (Exception, pl.exceptions.PanicException) as error:  # the reader is not ours: whatever it raises is told
        what = str(error).partition("\n")[0][:160].rstrip(".")
        raise FileRefused(f"{file.name}: is damaged or cut short, as a workbook ({what}).") from None


def _sheets(file: SourceFile, book: Book) -> list[Sheet]:
    """The sheets that may be read: the one that is named, or all that hold something and are not hidden."""
    names = list(book.sheets)
    if file.sheet is not None:
        names = [name for name in names if name.strip().casefold() == file.sheet.strip().casefold()]
        if not names:
            raise FileRefused(f"{file.name}: has no sheet '{file.sheet}'; there are: {', '.join(book.sheets)}.")
    shown = [name for name in names if book.sheets[name].shown] or names
    filled = [sheet for name in shown if (sheet := _sheet(file, name, book.sheets[name].cells)).heading_row]
    if not filled:
        raise FileRefused(f"{file.name}: is an empty workbook: none of its sheets has a filled cell.")
    return filled


def _sheet(file: SourceFile, name: str, cells: pl.DataFrame) -> Sheet:
    refuse_too_wide(file, cells.width)
    known: frozenset[str] = frozenset()
    heading_row = 0
    for place, row in enumerate(cells.head(HEADING_ROWS).iter_rows(), 1):
        some = frozenset(_tidy(cell).casefold() for cell in row) & file.looked_for
        if any(map(_tidy, row)) and (len(some) > len(known) or heading_row == 0):
            known, heading_row = some, place
    if heading_row == 0 and cells.height > HEADING_ROWS:
        raise FileRefused(f"{file.name}: its sheet '{name}' has no row of headings in its first {HEADING_ROWS} rows.")
    return Sheet(name=name, cells=cells, heading_row=heading_row, known=known)


def _headings(file: SourceFile, sheet: Sheet) -> list[str]:
    """Headings of a sheet, where cells merged downwards or sideways reach into the heading row.

    A merged cell holds its text in its first cell alone. An empty cell of the heading row takes the text above it;
    where headings repeat (a group for each day or venue), each takes the text of its group before it.
    """
    row = [_tidy(cell) for cell in sheet.cells.row(sheet.heading_row - 1)]
    above = [""] * len(row)
    if sheet.heading_row > 1:
        above = [_tidy(cell) for cell in sheet.cells.row(sheet.heading_row - 2)]
    cells = [cell or over for cell, over in zip(row, above, strict=True)]
    group = ""
    for place, over in enumerate(above):
        group = over or group
        if group and row.count(row[place]) > 1 and row[place]:
            cells[place] = f"{group} {row[place]}"
    return named(file, cells)


def _tidy(cell: str | None) -> str:
    return " ".join((cell or "").split())


def as_written(cells: pl.Series) -> pl.Series:
    """Moments as days where all of the column are midnights, times of day without a day, true and false in words."""
    if cells.str.contains(NO_DAY).any():
        cells = cells.str.replace(NO_DAY, "")
    moments = cells.filter(cells.str.contains(MOMENT).fill_null(False))
    if len(moments) and moments.str.ends_with(" 00:00:00").all():
        cells = cells.str.replace(r"^(\d{4}-\d\d-\d\d) 00:00:00$", "$1")
    return cells.replace({"true": YES, "false": NO})
