"""Rows added to a sheet of an XLSX workbook: spliced into the sheet's own XML, every other part byte for byte.

(ECMA-376, Office Open XML, part 1: workbook 18.2, sheet data 18.3.1.80, cells 18.3.1.4, tables 18.5.1.2.) A new cell
has the format of the cell that it is like; a formula is not taken over, as it would reckon with other rows.
"""

from __future__ import annotations

import io
import posixpath
import re
import zipfile
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import count, dropwhile, islice
from typing import Final
from xml.etree import ElementTree
from xml.sax.saxutils import escape, quoteattr

from stillroom.errors import FileRefused
from stillroom.naming import column_letters
from stillroom.objects import SourceFile
from stillroom.reading.containers import ZIP
from stillroom.writing.new_row import BY_HAND, Cell, NewRow

BOOK: Final = "xl/workbook.xml"
ROW: Final = re.compile(r"<((?:\w+:)?)row\b[^>]*?(?:/>|>.*?</\1row\s*>)", re.DOTALL)
MAIN: Final = "{http://schemas.openxmlformats.org/spreadsheetml/2006/main}"
LINKS: Final = "{http://schemas.openxmlformats.org/package/2006/relationships}"
ITS_LINK: Final = "{http://schemas.openxmlformats.org/officeDocument/2006/relationships}id"
REACH: Final = re.compile(r'\b(ref="\$?[A-Z]+\$?\d+:\$?[A-Z]+\$?)(\d+)"')


@dataclass(frozen=True, kw_only=True)
class _Row:
    """A row of a sheet, and where its XML stands."""

    number: int
    start: int
    stop: int
    cells: Mapping[str, ElementTree.Element]
    """Letters of the column -> the cell, where something is in it or it has a format."""

    @property
    def is_filled(self) -> bool:
        return any(len(cell) for cell in self.cells.values())


def with_rows(file: SourceFile, content: bytes, headings: Sequence[str], rows: Sequence[NewRow]) -> bytes:
    """The workbook with these rows below the last filled row of the sheet.

    Raises:
        FileRefused: it is a workbook of another kind, or its sheet is written in a way that is not understood.
    """
    if content[:4] not in ZIP:
        raise FileRefused(f"{file.name}: is a workbook of an old kind{BY_HAND}.")
    with zipfile.ZipFile(io.BytesIO(content)) as book:
        if BOOK not in book.namelist():
            raise FileRefused(f"{file.name}: is a workbook of another kind{BY_HAND}.")
        try:
            sheet = _sheet_part(book, file.sheet)
            changed = _with_rows(book, sheet, headings, rows)
        except (KeyError, ValueError, UnicodeDecodeError, ElementTree.ParseError) as error:
            raise FileRefused(
                f"{file.name}: its sheet is written in a way not understood ({error}){BY_HAND}."
            ) from None
        return _with_parts(book, changed)


def _sheet_part(book: zipfile.ZipFile, name: str | None) -> str:
    sheets = ElementTree.fromstring(book.read(BOOK)).iter(f"{MAIN}sheet")
    wanted = (name or "").strip().casefold()
    link = next(s.attrib[ITS_LINK] for s in sheets if s.attrib["name"].strip().casefold() == wanted)
    return _linked(book, BOOK)[link]


def _linked(book: zipfile.ZipFile, part: str) -> dict[str, str]:
    """Link -> the part of the package that it leads to."""
    folder, name = posixpath.split(part)
    links = f"{folder}/_rels/{name}.rels"
    if links not in book.namelist():
        return {}
    found = ElementTree.fromstring(book.read(links)).iter(f"{LINKS}Relationship")
    return {
        one.attrib["Id"]: posixpath.normpath(posixpath.join("/", folder, one.attrib["Target"])).lstrip("/")
        for one in found
        if one.attrib.get("TargetMode") != "External"
    }


def _with_rows(book: zipfile.ZipFile, part: str, headings: Sequence[str], rows: Sequence[NewRow]) -> dict[str, bytes]:
    """The parts that change: the sheet, and a table in it that ends where the rows are added."""
    text = book.read(part).decode("utf-8")
    there = _rows(text)
    letters = _columns(there, len(headings))
    last = max(row.number for row in there if row.is_filled)
    prefix = ROW.search(text)[1]  # type: ignore[index]  # there is one, as some row is filled
    by_number = {row.number: row for row in there}
    new = [
        _row_xml(
            prefix, last + place, by_number[row.like], letters, dict(zip(headings, letters, strict=True)), row.cells
        )
        for place, row in enumerate(rows, 1)
    ]
    bare = [row for row in there if last < row.number <= last + len(new)]  # formatted, and nothing in them
    start, stop = (bare[0].start, bare[-1].stop) if bare else (by_number[last].stop, by_number[last].stop)
    text = text[:start] + "".join(new) + text[stop:]
    reach = f'<{prefix}dimension ref="'
    if reach in text:
        before, _, after = text.partition(reach)
        span, _, after = after.partition('"')
        text = f'{before}{reach}{_down_to(span, last + len(new))}"{after}'
    changed = {part: text.encode("utf-8")}
    for other in _linked(book, part).values():
        if other.startswith("xl/tables/"):
            table = book.read(other).decode("utf-8")
            if "totalsRowCount" not in table:
                longer = REACH.sub(lambda m: f'{m[1]}{last + len(new)}"' if int(m[2]) == last else m[0], table)
                changed[other] = longer.encode("utf-8")
    return changed


def _rows(text: str) -> list[_Row]:
    """The rows of a sheet's XML, in order."""
    elements = {int(row.attrib["r"]): row for row in ElementTree.fromstring(text.encode()).iter(f"{MAIN}row")}
    found = []
    for match in ROW.finditer(text):
        number = int(re.search(r'\br="(\d+)"', match[0][: match[0].index(">")])[1])  # type: ignore[index]
        cells = {re.sub(r"\d", "", cell.attrib["r"]): cell for cell in elements[number].iter(f"{MAIN}c")}
        found.append(_Row(number=number, start=match.start(), stop=match.end(), cells=cells))
    return found


def _columns(rows: Sequence[_Row], how_many: int) -> list[str]:
    """The letters of the columns that are read: from the first that anything stands in."""
    first = min((letters for row in rows for letters, cell in row.cells.items() if len(cell)), key=_in_order)
    return list(islice(dropwhile(lambda letters: letters != first, map(column_letters, count())), how_many))


def _in_order(letters: str) -> tuple[int, str]:
    return len(letters), letters


def _row_xml(
    prefix: str,
    number: int,
    like: _Row,
    letters: Sequence[str],
    places: Mapping[str, str],
    instead: Mapping[str, Cell],
) -> str:
    by_letters = {places[heading]: cell for heading, cell in instead.items()}
    columns = sorted({*like.cells, *by_letters}, key=_in_order)
    cells = [_cell_xml(prefix, f"{c}{number}", like.cells.get(c), by_letters.get(c)) for c in columns]
    return f'<{prefix}row r="{number}">{"".join(cells)}</{prefix}row>'


def _cell_xml(prefix: str, where: str, like: ElementTree.Element | None, instead: Cell | None) -> str:
    style = f" s={quoteattr(like.attrib['s'])}" if like is not None and "s" in like.attrib else ""
    if isinstance(instead, float):
        return f'<{prefix}c r="{where}"{style}><{prefix}v>{instead:.12g}</{prefix}v></{prefix}c>'
    if instead is not None:
        return _text_xml(prefix, where, style, instead)
    if like is None or like.find(f"{MAIN}f") is not None:
        return f'<{prefix}c r="{where}"{style}/>'
    inside = like.find(f"{MAIN}is")
    if inside is not None:
        return _text_xml(prefix, where, style, "".join(inside.itertext()))
    value = like.find(f"{MAIN}v")
    kind = f" t={quoteattr(like.attrib['t'])}" if "t" in like.attrib and value is not None else ""
    held = "" if value is None else f"<{prefix}v>{escape(value.text or '')}</{prefix}v>"
    return f'<{prefix}c r="{where}"{style}{kind}>{held}</{prefix}c>'


def _text_xml(prefix: str, where: str, style: str, text: str) -> str:
    if not text:
        return f'<{prefix}c r="{where}"{style}/>'
    inside = f'<{prefix}is><{prefix}t xml:space="preserve">{escape(text)}</{prefix}t></{prefix}is>'
    return f'<{prefix}c r="{where}"{style} t="inlineStr">{inside}</{prefix}c>'


def _down_to(span: str, last: int) -> str:
    first, _, end = span.partition(":")
    return f"{first}:{re.sub(r'[0-9]+', str(last), end or first)}"


def _with_parts(book: zipfile.ZipFile, changed: Mapping[str, bytes]) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as new:
        for part in book.infolist():
            new.writestr(part, changed.get(part.filename) or book.read(part), compress_type=part.compress_type)
    return out.getvalue()
