"""The settings, with what the reader would not find by itself named; and the file as the reader then sees it."""

from __future__ import annotations

import re
from dataclasses import replace
from fnmatch import fnmatchcase

from stillroom.errors import FileRefused
from stillroom.house.model import SourceSettings
from stillroom.intake.shaping import AROUND
from stillroom.looking.recognising import Recognised
from stillroom.looking.ways import Tried
from stillroom.objects import Source, SourceFile
from stillroom.reading import delimited, workbook
from stillroom_schemas.table import Table


def pinned_book(best: Tried, settings: SourceSettings, seen: Recognised) -> SourceSettings:
    """The settings of a book, with labels that fill nothing, its separator, and the sheets that are read alike."""
    mapped = {heading.casefold() for several in settings.columns.values() for heading in several}
    left = tuple(label for label in best.labels if label.casefold() not in mapped)
    settings = settings.model_copy(update={"labels": left})
    if seen.kind != "a workbook":
        return settings.model_copy(update={"separator": best.file.separator})
    return settings.model_copy(update={"sheet": best.sheets})


def seen_as_book(best: Tried, seen: Recognised) -> Recognised:
    """What is seen of a book: its headings and sheets."""
    shown = tuple(heading for heading in best.headings if heading not in AROUND)
    seen = replace(seen, headings=shown, separator=best.file.separator)
    if seen.kind != "a workbook":
        return seen
    plain = replace(best.file, sheet=None)
    others = tuple(
        name for name in workbook.sheets_meant(plain, ("*",)) if name not in best.sheets and seen.may_read(name)
    )
    alike = tuple(name for name in best.sheets if name != best.file.sheet)
    sheets = len(workbook.sheet_names(plain))
    return replace(seen, sheet=best.file.sheet, sheets=sheets, sheets_alike=alike, sheets_unlike=others)


def pinned(file: SourceFile, settings: SourceSettings, table: Table, seen: Recognised) -> SourceSettings:
    """The settings, with separator or sheets named where the reader would not find the same by itself."""
    headings = [heading for several in settings.columns.values() for heading in several]
    looked_for = frozenset(h.casefold() for h in (*headings, *table.schema().columns))
    free = replace(file, looked_for=looked_for, separator=None, sheet=None)
    if file.separator is not None and delimited.found_top(free).separator != file.separator:
        return settings.model_copy(update={"separator": file.separator})
    if file.sheet is not None and (seen.within or not _finds(free, file.sheet)):
        return settings.model_copy(update={"sheet": sheets_to_name(seen)})
    return settings


def sheets_to_name(seen: Recognised) -> tuple[str, ...]:
    """The sheet that is read and all with the same headings, as names or as the one pattern that means just these."""
    assert seen.sheet is not None
    alike = (seen.sheet, *seen.sheets_alike)
    if len(alike) == 1:
        return alike
    if not (seen.sheets_unlike or seen.within):
        return ("*",)
    pieces = [re.split(r"(\d+)", name) for name in alike]
    if len({len(one) for one in pieces}) > 1:
        return alike
    numbers = [set(column) for column in zip(*pieces, strict=True)]
    if any(len(some) > 1 for some in numbers[::2]):  # words differ
        return alike
    pattern = "".join(some.pop() if len(some) == 1 else "*" for some in numbers)
    others = any(fnmatchcase(name.casefold(), pattern.casefold()) for name in seen.sheets_unlike)
    return alike if others else (pattern,)


def _finds(file: SourceFile, sheet: str) -> bool:
    """Whether the reader finds that sheet by itself."""
    try:
        return workbook.chosen_sheet(file).name == sheet
    except FileRefused:  # several are alike
        return False


def as_read(seen: Recognised, file: SourceFile, source: Source) -> Recognised:
    """What is seen once it is known which headings to look for, by the reader that the intake uses."""
    seen = replace(seen, headings=tuple(source.headings_of(file)))
    if seen.kind == "delimited text":
        top = delimited.found_top(file)
        return replace(seen, separator=top.separator, heading_row=top.row_number)
    if seen.kind == "a workbook":
        sheet = workbook.chosen_sheet(file)
        alike = tuple(filter(seen.may_read, workbook.sheets_like(file, sheet)))
        return replace(
            seen,
            sheet=sheet.name,
            sheets=len(workbook.sheet_names(file)),
            sheets_alike=alike,
            sheets_unlike=tuple(
                name
                for name in workbook.sheets_meant(file, ("*",))
                if name not in (sheet.name, *alike) and seen.may_read(name)
            ),
            heading_row=sheet.heading_row,
        )
    return seen
