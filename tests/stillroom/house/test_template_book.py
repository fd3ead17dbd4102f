"""XLSX templates: what their lists and checks say, and that a filled one is taken in."""

from __future__ import annotations

import io
import re
import zipfile
from datetime import date
from pathlib import Path
from xml.sax.saxutils import unescape

import pandera.polars as pa
import pytest

from house_builder import GOOD, command, plugins, take_in
from stillroom.house.new_house import write_house
from stillroom.house.settings import load_house
from stillroom.house.template_book import template
from stillroom.objects import Table
from stillroom_schemas import TABLES, fields
from stillroom_schemas.units import SPELLINGS

TABLE = {table.name: table for table in TABLES}
MAIN = "xl/worksheets/sheet1.xml"


def part(content: bytes, name: str) -> str:
    with zipfile.ZipFile(io.BytesIO(content)) as parts:
        return parts.read(name).decode()


def rules(table: str) -> dict[str, str]:
    """Column letter -> its rule's formula, as the workbook holds it."""
    xml = part(template(TABLE[table]), MAIN)
    found = re.findall(r'sqref="([A-Z]+)2:[A-Z]+1048576"[^>]*><formula1>(.*?)</formula1>', xml)
    return {letter: unescape(formula) for letter, formula in found}


def filled(content: bytes, cells: list[object]) -> bytes:
    """The very template with a second row typed in: texts in place, days as a spreadsheet counts them."""
    typed = ""
    for place, cell in enumerate(cells):
        at = f"{chr(65 + place)}2"
        if isinstance(cell, date):
            typed += f'<c r="{at}" s="{_date_style(content)}"><v>{(cell - date(1899, 12, 30)).days}</v></c>'
        elif isinstance(cell, int | float):
            typed += f'<c r="{at}"><v>{cell}</v></c>'
        elif cell is not None:
            typed += f'<c r="{at}" t="inlineStr"><is><t>{cell}</t></is></c>'
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(content)) as parts, zipfile.ZipFile(out, "w") as made:
        for name in parts.namelist():
            text = parts.read(name)
            if name == MAIN:
                text = text.replace(b"</sheetData>", f'<row r="2">{typed}</row></sheetData>'.encode())
            made.writestr(name, text)
    return out.getvalue()


def _date_style(content: bytes) -> int:
    """The place of the style that is a date, among the cells' styles."""
    styles = part(content, "xl/styles.xml")
    [number] = re.findall(r'<numFmt numFmtId="(\d+)" formatCode="yyyy-mm-dd"/>', styles)
    cells = re.findall(r"<xf [^>]*?numFmtId=\"(\d+)\"", styles.partition("<cellXfs")[2])
    return cells.index(number)


@pytest.fixture
def house(tmp_path: Path) -> Path:
    write_house(tmp_path / "house", plugins())
    return tmp_path / "house"


def test_blank_templates_are_no_rows_yet_and_say_so_in_one_line(house):
    said = command("intake", house=house)
    assert "18 files of headings alone, and no rows yet." in said.out
    assert len(said.out.splitlines()) == 2


def test_a_filled_template_is_taken_in(house):
    path = house / "batch" / "batch.xlsx"
    path.write_bytes(filled(path.read_bytes(), ["FC-1", "=Fig Cordial", 2, date(2026, 3, 2), 650, "ml"]))
    [outcome] = [o for o in take_in(load_house(house, plugins())) if o.status != "no rows yet"]
    assert (outcome.rows_landed, outcome.rows_set_aside, outcome.problem) == (1, 0, "")


def test_drop_down_lists_hold_what_the_model_allows():
    assert rules("spec")["C"] == "Choices!$A$2:$A$4"
    assert rules("spec")["E"] == f"Choices!$B$2:$B${len(SPELLINGS) + 1}"
    shared = re.findall(r"<t[^>]*>(.*?)</t>", part(template(TABLE["spec"]), "xl/sharedStrings.xml"))
    assert {"drink", "preparation", "garnish", "freezer", *SPELLINGS} <= set(map(unescape, shared))


def test_numbers_and_days_keep_the_limits_of_the_model():
    assert rules("batch")["L"] == "AND(ISNUMBER(L2),L2>=0,L2<=14)"  # ph
    assert rules("batch")["C"] == "AND(ISNUMBER(C2),C2=INT(C2),C2>=1)"  # version
    assert rules("batch")["D"] == "1"  # made_on: any day that a spreadsheet can hold
    terms = rules("sale")["D"].removeprefix("AND(").removesuffix(")").split(",")  # quantity
    assert set(terms) == {"ISNUMBER(D2)", "D2>=-10000", "D2<=10000", "D2<>0"}


def test_every_heading_has_its_note_and_the_headings_are_the_tables():
    for table in TABLES:
        content = template(table)
        notes = part(content, "xl/comments1.xml")
        columns = table.schema().columns
        assert notes.count("<comment ") == len(columns)
        shared = [unescape(t) for t in re.findall(r"<t[^>]*>(.*?)</t>", part(content, "xl/sharedStrings.xml"))]
        assert shared[: len(columns)] == list(columns)
        assert set(GOOD[table.name]) <= set(columns)


def test_nothing_in_a_template_is_a_formula():
    class Odd(pa.DataFrameModel):
        name: str = fields.text("=1+1", isin=["=HYPERLINK(1)", "+1", "@x"])

    content = template(Table(name="odd", title="odd", model=Odd))
    for sheet in (MAIN, "xl/worksheets/sheet2.xml"):
        assert "<f>" not in part(content, sheet)


def test_the_same_table_gives_the_same_bytes():
    assert template(TABLE["spec"]) == template(TABLE["spec"])
