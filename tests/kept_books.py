"""A book of a house with its truth, written as its keeper has it: as text, as a workbook, as an open document."""

from __future__ import annotations

import io
import zipfile
from dataclasses import dataclass, field
from datetime import date, datetime
from itertools import groupby
from pathlib import Path
from typing import Any
from xml.sax.saxutils import escape

import xlsxwriter

Rows = list[dict[str, Any]]


@dataclass(frozen=True)
class Cell:
    """A cell of a workbook that is more than its value."""

    value: Any
    formula: str = ""
    """What the value, which may be an error, is worked out by."""
    shown: str = ""
    """The number format."""
    colour: str = ""


Grid = list[list[Any]]
"""Rows of values, of which some may be a `Cell`."""


@dataclass(frozen=True, kw_only=True)
class Book:
    """One file and what a person who kept it would say that it holds."""

    name: str
    file: str
    truth: dict[str, Rows]
    """Table -> its rows; the first table is the one that the reader is told."""
    text: str = ""
    encoding: str = "utf-8"
    sheets: dict[str, Grid] = field(default_factory=dict)
    merged: dict[str, tuple[str, ...]] = field(default_factory=dict)
    """Sheet -> ranges of cells that are one, such as 'A2:A3'."""
    answers: dict[str, str] = field(default_factory=dict)
    """What its keeper says when asked."""
    left: int = 0
    """Rows that must not land: what they say is open."""
    refused: str = ""
    """A piece of the sentence by which the whole is refused."""
    beside: dict[str, str] = field(default_factory=dict)
    """Other files of the house that it speaks of."""

    @property
    def table(self) -> str:
        return next(iter(self.truth))

    def write(self, folder: Path) -> Path:
        path = folder / self.file
        path.parent.mkdir(parents=True, exist_ok=True)
        if not self.sheets:
            path.write_bytes(self.text.encode(self.encoding))
        elif path.suffix == ".ods":
            path.write_bytes(open_document({name: _ods(grid) for name, grid in self.sheets.items()}))
        else:
            self._write_workbook(path)
        return path

    def _write_workbook(self, path: Path) -> None:
        book = xlsxwriter.Workbook(str(path), {"default_date_format": "dd/mm/yyyy"})
        for name, grid in self.sheets.items():
            sheet = book.add_worksheet(name)
            for merged in self.merged.get(name, ()):
                sheet.merge_range(merged, "")
            for number, row in enumerate(grid):
                for place, cell in enumerate(row):
                    _write_cell(book, sheet, number, place, cell)
        book.close()


def _write_cell(book: Any, sheet: Any, number: int, place: int, cell: Any) -> None:
    looks = None
    if isinstance(cell, Cell):
        looks = book.add_format({k: v for k, v in (("num_format", cell.shown), ("bg_color", cell.colour)) if v})
        if cell.formula:
            sheet.write_formula(number, place, cell.formula, looks, cell.value)
            return
        cell = cell.value
    if isinstance(cell, datetime | date):
        sheet.write_datetime(number, place, cell)
    elif cell is not None:
        (sheet.write_string if isinstance(cell, str) else sheet.write)(number, place, cell, looks)


def open_document(sheets: dict[str, str]) -> bytes:
    """A spreadsheet as OpenDocument 1.3 has it (names of elements from memory), of each sheet's rows in XML."""
    kind = "application/vnd.oasis.opendocument.spreadsheet"
    names = " ".join(
        f'xmlns:{name}="urn:oasis:names:tc:opendocument:xmlns:{name}:1.0"' for name in ("office", "table", "text")
    )
    entry = f'<m:file-entry m:full-path="/" m:media-type="{kind}"/>'
    manifest = "urn:oasis:names:tc:opendocument:xmlns:manifest:1.0"
    tables = "".join(f'<table:table table:name="{escape(name)}">{rows}</table:table>' for name, rows in sheets.items())
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as pack:
        pack.writestr("mimetype", kind)
        pack.writestr("META-INF/manifest.xml", f'<m:manifest xmlns:m="{manifest}">{entry}</m:manifest>')
        pack.writestr(
            "content.xml",
            f"<office:document-content {names}><office:body><office:spreadsheet>{tables}"
            "</office:spreadsheet></office:body></office:document-content>",
        )
    return out.getvalue()


def _ods(grid: Grid) -> str:
    """Rows that are alike, and cells beside each other that are, are written once with their number."""
    rows = []
    for row, same in groupby(grid):
        cells = "".join(_ods_cell(cell, len(list(alike))) for cell, alike in groupby(row))
        rows.append(f'<table:table-row table:number-rows-repeated="{len(list(same))}">{cells}</table:table-row>')
    return "".join(rows)


def _ods_cell(cell: Any, times: int) -> str:
    repeated = f'table:number-columns-repeated="{times}"'
    if cell is None:
        return f"<table:table-cell {repeated}/>"
    said = f"<text:p>{escape(str(cell))}</text:p></table:table-cell>"
    if isinstance(cell, str):
        return f'<table:table-cell {repeated} office:value-type="string">{said}'
    return f'<table:table-cell {repeated} office:value-type="float" office:value="{cell}">{said}'


def rows(columns: str, *rows: tuple[Any, ...], **same: Any) -> Rows:
    """Columns by name, with a space between; `same`: what stands in every row."""
    return [dict(zip(columns.split(), row, strict=True)) | same for row in rows]


def lines(spec: str, *lines: tuple[str, float, str], version: int = 1) -> Rows:
    return [
        {"spec": spec, "version": version, "line": place, "item": item, "amount": amount, "unit": unit}
        for place, (item, amount, unit) in enumerate(lines, 1)
    ]


def spec(spec: str, version: int = 1, kind: str = "drink", makes: tuple[float, str] = (1, "serve"), **more: Any) -> Any:
    return {"spec": spec, "version": version, "kind": kind, "yield_amount": makes[0], "yield_unit": makes[1], **more}


def packs(*packs: tuple[str, float, str, float]) -> Rows:
    return [dict(zip(("item", "pack_amount", "pack_unit", "pack_cost"), pack, strict=True)) for pack in packs]


def strengths(packs: Rows, abv: tuple[float, ...]) -> Rows:
    return [{**row, "abv_pct": one} for row, one in zip(packs, abv, strict=True)]


def batches(*rows: tuple[str, date, float, str]) -> Rows:
    return [dict(zip(("preparation", "made_on", "made_amount", "made_unit"), row, strict=True)) for row in rows]


def events(*rows: tuple[date, str, float | None, str | None]) -> Rows:
    return [dict(zip(("happened_on", "event", "amount", "unit"), row, strict=True)) for row in rows]


def scores(
    spec: str, day: date, attributes: list[str], scores: dict[tuple[int, str], list[float]], **more: Any
) -> Rows:
    """(version, panelist) -> a score for each attribute."""
    return [
        {"tasted_on": day, "spec": spec, "version": v, "panelist": who, "attribute": a, "score": s, **more}
        for (v, who), several in scores.items()
        for a, s in zip(attributes, several, strict=True)
    ]


def sales(*rows: tuple[datetime, str, float, float]) -> Rows:
    return [dict(zip(("sold_at", "till_item", "quantity", "net_amount"), row, strict=True)) for row in rows]
