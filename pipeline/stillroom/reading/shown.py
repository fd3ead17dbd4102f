"""Which cells of an XLSX workbook are shown otherwise than they are kept: 0.4 where a person sees 40%, and errors.

The reader of workbooks hands over numbers as texts without their formats, and nothing for an error such as #N/A. A
format is looked up as the standard of Office Open XML has it: a cell's style is a place in `cellXfs`, which names a
number format, which is built in or spelt out. A cell of type `e` holds an error.
"""

from __future__ import annotations

import html
import io
import re
import zipfile
from collections.abc import Iterator
from decimal import Decimal, InvalidOperation
from typing import Final

import polars as pl

BUILT_IN: Final = frozenset({9, 10})  # 0% and 0.00%
LITERAL: Final = re.compile(r'"[^"]*"|\\.')  # a '%' in quotes is shown, and multiplies nothing
CELL: Final = re.compile(r"<c\s([^>]*[^/>])>(.*?)</c>", re.DOTALL)
ERROR: Final = ' t="e"'
VALUE: Final = re.compile(r"<v>([^<]*)</v>")


def as_seen(content: bytes, name: str, cells: pl.DataFrame) -> pl.DataFrame:
    """A sheet's cells, with percentages and errors as a person sees them.

    Args:
        content: the workbook.
        name: the sheet's.
        cells: all its cells as text from row 1 on, and from the first filled column on.

    Returns:
        The cells, with those that are shown as percentages as '40 %' instead of 0.4, and errors as '#N/A'.
    """
    if not zipfile.is_zipfile(io.BytesIO(content)):
        return cells
    with zipfile.ZipFile(io.BytesIO(content)) as parts:
        styles = _percent_styles(_text(parts, "xl/styles.xml"))
        part = _parts_of_sheets(parts).get(name)
        sheet = _text(parts, part) if part is not None else ""
    if not styles and ERROR not in sheet:
        return cells
    found = [(*_place(cell[1]), cell[1], cell[2]) for cell in CELL.finditer(sheet)]
    first = min((column for column, _, _, inside in found if "<v>" in inside or "<is>" in inside), default=0)
    changed: dict[int, dict[int, str]] = {}
    for column, row, attributes, inside in found:
        if not (column >= first > 0 and column - first < cells.width and 0 < row <= cells.height):
            continue
        if seen := _seen(attributes, inside, styles):
            changed.setdefault(column - first, {})[row - 1] = seen
    return cells.with_columns(
        cells[cells.columns[column]].scatter(list(rows), list(rows.values())) for column, rows in changed.items()
    )


def _percent_styles(styles: str) -> set[str]:
    """Places in `cellXfs` whose number format is one of percentages."""
    percent = {str(one) for one in BUILT_IN}
    for form in re.findall(r"<numFmt\s([^>]*)>", styles):
        if "%" in LITERAL.sub("", html.unescape(_attribute(form, "formatCode"))):
            percent.add(_attribute(form, "numFmtId"))
    used = re.search(r"<cellXfs.*?</cellXfs>", styles, re.DOTALL)
    forms = re.findall(r"<xf\s([^>]*)>", used[0]) if used else []
    return {str(place) for place, form in enumerate(forms) if _attribute(form, "numFmtId") in percent}


def _parts_of_sheets(parts: zipfile.ZipFile) -> dict[str, str]:
    """Sheet -> the part of the workbook that holds it."""
    targets = {
        _attribute(one, "Id"): _attribute(one, "Target")
        for one in re.findall(r"<Relationship\s([^>]*)>", _text(parts, "xl/_rels/workbook.xml.rels"))
    }
    return dict(_targets(_text(parts, "xl/workbook.xml"), targets))


def _targets(book: str, targets: dict[str, str]) -> Iterator[tuple[str, str]]:
    for sheet in re.findall(r"<sheet\s([^>]*)>", book):
        target = targets.get(_attribute(sheet, "r:id"), "")
        yield (
            html.unescape(_attribute(sheet, "name")),
            target.removeprefix("/") if target[:1] == "/" else f"xl/{target}",
        )


def _text(parts: zipfile.ZipFile, name: str) -> str:
    return parts.read(name).decode("utf-8", "replace") if name in parts.namelist() else ""


def _attribute(attributes: str, name: str) -> str:
    found = re.search(rf'(?:^|\s){name}="([^"]*)"', attributes)
    return found[1] if found else ""


def _style(attributes: str) -> str | None:
    """The style of a number; None for texts, whose value is but a place in a list of texts."""
    return _attribute(attributes, "s") if _attribute(attributes, "t") in ("", "n") else None


def _place(attributes: str) -> tuple[int, int]:
    """Column and row, both from 1, of a cell such as r="C5"."""
    found = re.fullmatch(r"([A-Z]{1,3})(\d{1,7})", _attribute(attributes, "r"))
    if found is None:
        return 0, 0
    column = 0
    for letter in found[1]:
        column = column * 26 + ord(letter) - 64
    return column, int(found[2])


def _seen(attributes: str, inside: str, percent: set[str]) -> str | None:
    """What a person sees, where that is another thing than what is kept."""
    if ERROR in f" {attributes}":
        value = VALUE.search(inside)
        return html.unescape(value[1]) if value else None
    return _percent(inside) if _style(attributes) in percent else None


def _percent(inside: str) -> str | None:
    value = VALUE.search(inside)
    try:
        number = Decimal(repr(float(value[1]))) * 100 if value else Decimal("nan")
    except (ValueError, InvalidOperation):
        return None
    return f"{number.normalize():f} %" if number.is_finite() else None
