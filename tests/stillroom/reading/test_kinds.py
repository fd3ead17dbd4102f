"""Files of every kind: the same rows whatever they are written as, and one clear line for what holds no table."""

from __future__ import annotations

import gzip
import io
import json
import resource
import struct
import zipfile
from collections.abc import Callable
from dataclasses import replace
from datetime import date, datetime, time
from decimal import Decimal
from pathlib import Path

import polars as pl
import pytest
import xlsxwriter
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from house_builder import HOUSE, current, make_house, put, reasons, take_in
from kept_books import open_document
from stillroom.errors import FileRefused
from stillroom.objects import SourceFile
from stillroom.reading import books, containers, delimited, read_batches, read_headings
from written import FILES, as_json_lines, as_parquet, as_xlsx, texts, write_sqlite, zipped

SALE = '[[source]]\nname = "till"\nplugin = "till-export"\nfiles = ["sale/*"]\n'
COLUMNS = ("sold_at", "till_item", "quantity", "net_amount")
LINES = [
    dict(zip(COLUMNS, row, strict=True))
    for row in (
        (datetime(2026, 3, 2, 20, 0), "Crème Sour", 1, 9.5),
        (datetime(2026, 3, 4, 21, 5, 30), "007", -2, -19.0),
        (datetime(2025, 12, 31, 23, 59), "Fig Sour", 3, 0.0),
    )
]


def source(path: Path, content: bytes, **how: object) -> SourceFile:
    path.write_bytes(content)
    return SourceFile(path=path, name=path.name, **how)  # type: ignore[arg-type]


def rows(file: SourceFile) -> list[tuple[object, ...]]:
    return [(n, *row) for b in read_batches(file) for n, row in zip(b.row_numbers, b.rows.rows(), strict=True)]


def refusal(file: SourceFile) -> str:
    with pytest.raises(FileRefused) as refused:
        list(read_batches(file))
    said = str(refused.value)
    assert said.startswith(f"{file.name}: ")
    assert "\n" not in said
    return said


# The same table, whatever it is written as -----------------------------------------------------------------


@pytest.mark.parametrize("kind", FILES)
def test_every_kind_lands_the_same_rows(tmp_path, kind):
    name, write, setting = FILES[kind]
    house = make_house(tmp_path, HOUSE + SALE + setting)
    put(tmp_path, f"sale/{name}", write(LINES))
    [outcome] = take_in(house)
    assert (outcome.status, outcome.rows_landed, outcome.rows_set_aside) == ("landed", 3, 0), outcome.problem
    assert current(house, "sale", *COLUMNS) == sorted((m, t, Decimal(q), Decimal(str(n))) for m, t, q, n in values())


def values() -> list[tuple[datetime, str, int, float]]:
    return [tuple(row.values()) for row in LINES]  # type: ignore[misc]


def test_a_query_to_sqlite_lands_the_same_rows(tmp_path, monkeypatch):
    write_sqlite(tmp_path / "till.db", LINES)
    monkeypatch.setenv("TILL_DATABASE", "sqlite:///till.db")
    query = (
        '[[source]]\nname = "till"\nplugin = "till-export"\ndatabase = "TILL_DATABASE"\nquery = "SELECT * FROM sold"\n'
    )
    house = make_house(tmp_path, HOUSE + query)
    assert take_in(house)[0].rows_landed == 3
    assert len(current(house, "sale", *COLUMNS)) == 3
    assert take_in(house)[0].status == "unchanged"


ITEM = st.text(
    st.characters(codec="cp1252", exclude_characters=',;"\r\n\t', exclude_categories=("Cc", "Zs")), min_size=1
)
TILL_ROWS = st.lists(
    st.fixed_dictionaries(
        {
            "sold_at": st.datetimes(datetime(2000, 1, 1), datetime(2099, 1, 1)).map(lambda m: m.replace(microsecond=0)),
            "till_item": ITEM.map(lambda text: f"x{text}"),
            "quantity": st.integers(-100, 100),
            "net_amount": st.integers(-100_000, 100_000).map(lambda cents: cents / 100),
        }
    ).map(lambda row: {name: row[name] for name in COLUMNS}),
    min_size=2,
    max_size=5,
)


@settings(max_examples=15, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(TILL_ROWS)
def test_every_kind_reads_the_same_texts(tmp_path, table):
    looked_for = frozenset(COLUMNS)
    read = {}
    for kind, (name, write, setting) in FILES.items():
        encoding = "cp1252" if setting.startswith("encoding") else "utf-8"
        file = source(tmp_path / name, write(table), encoding=encoding, looked_for=looked_for)
        read[kind] = [
            (row[1], row[2], float(row[3]), float(row[4]))
            for row in rows(file)  # type: ignore[arg-type]
        ]
    wanted = [(str(r["sold_at"]), r["till_item"], float(r["quantity"]), float(r["net_amount"])) for r in table]
    whole_days = all(r["sold_at"].time() == time() for r in table)
    for kind, found in read.items():
        if not (whole_days and "XLSX" in kind):  # a column of midnights is taken for days
            assert found == wanted, kind


# Packed files ------------------------------------------------------------------------------------------------


def test_a_bomb_is_refused_before_it_fills_the_memory(tmp_path, monkeypatch):
    monkeypatch.setattr(containers, "HARMLESS_BYTES", 2**20)
    bomb = b"a,b\n" + b"1,2\n" * 2**20
    assert "unpacks to more than 200 times its size" in refusal(source(tmp_path / "b.gz", gzip.compress(bomb)))
    assert "unpacks to more than 200 times its size" in refusal(source(tmp_path / "b.zip", zipped("b.csv", bomb)))


def test_a_zip_with_several_files_is_refused_by_name(tmp_path):
    said = refusal(source(tmp_path / "two.zip", zipped("a.csv", b"a\n1\n", "../../b.csv")))
    assert "2 files inside (a.csv, ../../b.csv)" in said
    assert [path.name for path in tmp_path.iterdir()] == ["two.zip"]


def test_a_member_that_would_leave_the_folder_is_only_read(tmp_path):
    inside = tmp_path / "in"
    inside.mkdir()
    assert rows(source(inside / "t.zip", zipped("../../evil.csv", b"a\n1\n"))) == [(2, "1")]
    assert [path.name for path in tmp_path.rglob("*")] == ["in", "t.zip"]


def test_a_zip_with_a_password_is_refused(tmp_path):
    content = bytearray(zipped("t.csv", b"a\n1\n"))
    content[6] |= 1  # the general purpose flag's bit 0: encrypted (APPNOTE.TXT 4.4.4; from memory)
    directory = content.index(b"PK\x01\x02")
    content[directory + 8] |= 1
    assert "with a password" in refusal(source(tmp_path / "t.zip", bytes(content)))


LOCKED = ("META-INF/manifest.xml", b"<m:encryption-data/>", "mimetype", "encrypted-package")
"""Of an ODS workbook with a password: its manifest, and its other parts (as LibreOffice 24 packs it, from memory)."""


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (gzip.compress(texts(LINES).encode())[:-20], "cut short"),
        (zipped("t.csv", texts(LINES).encode())[:-30], "cut short"),
        (as_xlsx(LINES)[:-100], "cut short"),
        (as_parquet(LINES)[:-50], "cut short"),
        (as_parquet(LINES)[:50], "cut short"),
        (gzip.compress(gzip.compress(b"a\n1\n")), "packed twice"),
        (gzip.compress(as_parquet(LINES)), "Parquet inside another packing"),
        (zipped("x/.DS_Store", b""), "an empty zip"),
        (b"\x89PNG\r\n\x1a\n" + b"\0" * 50, "a picture (PNG)"),
        (b"%PDF-1.7\n", "a PDF document"),
        (b"<html><table><tr><td>a</td></tr></table></html>", "a web page or XML"),
        (b'\xef\xbb\xbf<?xml version="1.0"?>', "a web page or XML"),
        (b'{\n "a": 1\n}\n', "no JSON lines"),
        (b"SQLite format 3\0" + b"\0" * 80, "an SQLite database"),
        (zipped("word/document.xml", b"<w/>", "[Content_Types].xml"), "another kind, with no sheets"),
        (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + b"\0" * 600, "damaged or cut short, as a workbook"),
        (
            b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + b"\0" * 600 + "EncryptedPackage".encode("utf-16-le"),
            "a workbook with a password",
        ),
        (zipped(*LOCKED), "a workbook with a password"),
        (b"", "is empty"),
    ],
    # Names that are the same in every process: a packed file holds the second it was packed in.
    ids=lambda value: value if isinstance(value, str) else "file",
)
def test_what_holds_no_table_ends_in_one_line(tmp_path, content, words):
    assert words in refusal(source(tmp_path / "file.csv", content))


# Workbooks ---------------------------------------------------------------------------------------------------


def book(path: Path, fill: object) -> Path:
    with xlsxwriter.Workbook(path) as made:
        fill(made)  # type: ignore[operator]
    return path


def test_rows_keep_the_numbers_that_a_spreadsheet_shows(tmp_path):
    def fill(made):
        sheet = made.add_worksheet()
        sheet.write_row("B3", ["a", "b"])
        sheet.write_row("B5", ["x", 2])
        sheet.write_row("B8", ["y", 3])

    path = book(tmp_path / "b.xlsx", fill)
    file = SourceFile(path=path, name="b.xlsx", looked_for=frozenset({"a", "b"}))
    assert rows(file) == [(5, "x", "2"), (8, "y", "3")]
    assert sum(batch.passed_over for batch in read_batches(file)) == 3


def test_cells_come_as_a_csv_would_hold_them(tmp_path):
    def fill(made):
        sheet = made.add_worksheet()
        day, clock = made.add_format({"num_format": "dd/mm/yy"}), made.add_format({"num_format": "hh:mm"})
        sheet.write_row(0, 0, ["day", "time", "whole", "part", "yes", "saved", "text", "sum"])
        sheet.write_datetime(1, 0, date(2026, 3, 4), day)
        sheet.write_datetime(1, 1, time(21, 5), clock)
        sheet.write_row(1, 2, [2.0, 9.25, True])
        sheet.write_formula(1, 5, "=1+1", None, 2)
        sheet.write_string(1, 6, "007")
        sheet.write(1, 7, 0.1 + 0.2)

    path = book(tmp_path / "b.xlsx", fill)
    assert rows(SourceFile(path=path, name="b")) == [
        (2, "2026-03-04", "21:05:00", "2", "9.25", "yes", "2", "007", "0.3")
    ]


def test_the_sheet_with_most_headings_is_read_or_the_one_that_is_named(tmp_path):
    def fill(made):
        made.add_worksheet("One").write_row(0, 0, ["a", "z"])
        made.add_worksheet("Two").write_row(0, 0, ["a", "b"])
        made.add_worksheet("Three").write_row(0, 0, ["a", "b"])

    path = book(tmp_path / "b.xlsx", fill)
    looked_for = frozenset({"a", "b"})
    assert read_headings(SourceFile(path=path, name="b", looked_for=looked_for)) == ["a", "b"]
    assert read_headings(SourceFile(path=path, name="b", looked_for=looked_for, sheet="ONE")) == ["a", "z"]
    said = refusal(SourceFile(path=path, name="b", sheet="Four"))
    assert said == "b: has no sheet 'Four'; there are: One, Two, Three."


def test_of_sheets_with_the_same_headings_none_is_taken_for_the_whole(tmp_path):
    def fill(made):
        for name in ("Bar", "Old", "Terrace"):
            made.add_worksheet(name).write_row(0, 0, ["a", "b"])
            made.get_worksheet_by_name(name).write_row(1, 0, [name, 2])
        made.get_worksheet_by_name("Old").very_hidden()

    path = book(tmp_path / "b.xlsx", fill)
    how = {"path": path, "name": "b", "looked_for": frozenset({"a", "b"})}
    said = refusal(SourceFile(**how))
    assert said.startswith("b: its sheets 'Bar', 'Terrace' have the same headings, and unless told one sheet is read")
    assert rows(SourceFile(**how, sheet="Terrace")) == [(2, "Terrace", "2")]
    assert rows(SourceFile(**how, sheet="Old")) == [(2, "Old", "2")]


def test_a_hidden_sheet_is_passed_over(tmp_path):
    def fill(made):
        for name in ("Old", "New"):
            made.add_worksheet(name).write_column(0, 0, ["a", name])
        made.get_worksheet_by_name("Old").hide()
        made.get_worksheet_by_name("New").activate()

    path = book(tmp_path / "b.xlsx", fill)
    assert rows(SourceFile(path=path, name="b", looked_for=frozenset({"a"}))) == [(2, "New")]


def test_a_list_of_json_objects_is_read_with_the_lines_on_which_they_begin(tmp_path):
    text = '[\n {"a": "x", "b": 2.50},\n\n {"a": "y",\n  "b": "3"},\n nonsense\n {"a": "z"}\n]\n'
    file = source(tmp_path / "t.json", text.encode())
    [batch] = read_batches(file)
    assert batch.row_numbers.to_list() == [2, 4, 7]
    assert batch.rows.rows() == [("x", "2.50"), ("y", "3"), ("z", None)]
    assert [one.row_number for one in batch.malformed] == [6]


def test_percentages_come_as_they_are_shown(tmp_path):
    def fill(made):
        made.add_worksheet("Notes & more").write(0, 0, "none")
        sheet = made.add_worksheet('The "prices"')
        sheet.write_row("C2", ["item", "abv", "share", "sign", "plain"])
        sheet.write("C3", "gin")
        sheet.write("D3", 0.4, made.add_format({"num_format": "0%"}))
        sheet.write("E3", 0.07, made.add_format({"num_format": "#,##0.0 %;[Red]-0.0 %"}))
        sheet.write("F3", 40, made.add_format({"num_format": '0"%"'}))  # shows 40%, and is 40
        sheet.write("G3", 0.4)
        sheet.write("D4", "n/a", made.add_format({"num_format": "0%"}))
        sheet.write_blank("A9", None, made.add_format({"num_format": "0%"}))

    path = book(tmp_path / "b.xlsx", fill)
    file = SourceFile(path=path, name="b", looked_for=frozenset({"item", "abv"}))
    assert rows(file) == [(3, "gin", "40 %", "7 %", "40", "0.4"), (4, None, "n/a", None, None, None)]


def test_headings_that_are_merged_over_two_rows_or_a_group_are_put_together(tmp_path):
    def fill(made):
        sheet = made.add_worksheet()
        sheet.merge_range("A1:A2", "Item")
        sheet.merge_range("B1:C1", "Monday")
        sheet.merge_range("D1:E1", "Tuesday")
        sheet.write_row("B2", ["quantity", "net", "quantity", "net"])
        sheet.write_row("A3", ["Fig Sour", 1, 9, 2, 18])

    path = book(tmp_path / "b.xlsx", fill)
    file = SourceFile(path=path, name="b", looked_for=frozenset({"quantity"}))
    assert read_headings(file) == ["Item", "Monday quantity", "Monday net", "Tuesday quantity", "Tuesday net"]
    assert rows(file) == [(3, "Fig Sour", "1", "9", "2", "18")]


def test_an_empty_workbook_is_refused(tmp_path):
    path = book(tmp_path / "b.xlsx", lambda made: made.add_worksheet())
    assert "is an empty workbook" in refusal(SourceFile(path=path, name="b"))


FAR: dict[str, Callable[[str, bytes], tuple[str, bytes]]] = {
    "as it is": lambda name, part: (name, part),
    "single quotes": lambda name, part: (name, part.replace(b'r="XFD1048576"', b"r='XFD1048576'")),
    "spaces": lambda name, part: (name, part.replace(b'r="XFD1048576"', b'r = "XFD1048576"')),
    "small letters": lambda name, part: (name, part.replace(b'r="XFD1048576"', b'r="xfd1048576"')),
    "another place": lambda name, part: (
        name.replace("worksheets/sheet1.xml", "elsewhere/one.bin"),
        part.replace(b"worksheets/sheet1.xml", b"elsewhere/one.bin"),
    ),
    "capitals": lambda name, part: (
        name.replace("worksheets/sheet1.xml", "Worksheets/Sheet1.XML"),
        part.replace(b"worksheets/sheet1.xml", b"Worksheets/Sheet1.XML"),
    ),
}


@pytest.mark.parametrize("way", FAR)
def test_a_cell_in_the_last_corner_of_a_sheet_is_never_held(tmp_path, way):
    """However the sheet is written, this process holds nothing of it; what another makes of it is bounded."""

    def fill(made):
        sheet = made.add_worksheet()
        sheet.write(0, 0, "a")
        sheet.write(1_048_575, 16_383, "b")

    path, out = book(tmp_path / "b.xlsx", fill), io.BytesIO()
    with zipfile.ZipFile(path) as before, zipfile.ZipFile(out, "w") as after:
        for name in before.namelist():
            after.writestr(*FAR[way](name, before.read(name)))
    had = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    said = refusal(source(tmp_path / "far.xlsx", out.getvalue()))
    assert "is damaged or cut short, as a workbook" in said
    assert resource.getrusage(resource.RUSAGE_SELF).ru_maxrss < had + 200 * 2**10  # kB
    assert rows(SourceFile(path=book(tmp_path / "c.xlsx", fill_one), name="c")) == [(2, "1")]  # the next is read


def fill_one(made):
    made.add_worksheet().write_column(0, 0, ["n", 1])


def test_one_that_takes_too_long_is_given_up(tmp_path, monkeypatch):
    monkeypatch.setattr(books, "MOST_SECONDS", 0.0)
    said = refusal(SourceFile(path=book(tmp_path / "b.xlsx", fill_one), name="b"))
    assert said.endswith("delete what lies beyond its tables, or save them as CSV.")
    monkeypatch.undo()
    assert rows(SourceFile(path=tmp_path / "b.xlsx", name="b")) == [(2, "1")]


def test_a_hundred_thousand_columns_are_refused_whatever_they_are_written_as(tmp_path):
    headings = [f"h{number}" for number in range(100_000)]
    wanted = "has 100,000 columns, more than a table can have (16,384)."
    wide = source(tmp_path / "t.csv", f"{','.join(headings)}\n{','.join('1' for _ in headings)}\n".encode())
    assert refusal(wide).endswith(wanted)
    assert refusal(source(tmp_path / "t.jsonl", json.dumps(dict.fromkeys(headings, 1)).encode())).endswith(wanted)
    with pytest.raises(FileRefused, match="has 100,000 columns"):
        delimited.first_rows(wide)


TEXT = '<table:table-cell office:value-type="string"><text:p>{}</text:p></table:table-cell>'
NUMBER = '<table:table-cell office:value-type="float" office:value="{}"><text:p>{}</text:p></table:table-cell>'
DAY = (
    '<table:table-cell office:value-type="date" office:date-value="2026-03-04"><text:p>4/3</text:p></table:table-cell>'
)


def ods(path: Path, *lines: str) -> SourceFile:
    """A sheet of an open document, of the cells of each row."""
    return source(path, open_document({"S": "".join(f"<table:table-row>{line}</table:table-row>" for line in lines)}))


def test_an_ods_sheet_is_read(tmp_path):
    heads = TEXT.format("a") + TEXT.format("b") + TEXT.format("c")
    file = ods(tmp_path / "t.ods", heads, TEXT.format("x") + NUMBER.format("2.5", "2,50") + DAY)
    assert rows(file) == [(2, "x", "2.5", "2026-03-04")]


def test_beside_texts_with_a_decimal_comma_numbers_are_numbers_and_texts_are_texts(tmp_path):
    """A text '1.234' parts thousands, whatever the number 1.234 in the cell above it looks like."""
    cells = [(1.234, NUMBER.format("1.234", "1,23")), ("1.234", TEXT.format("1.234")), ("17,90", TEXT.format("17,90"))]
    path = book(
        tmp_path / "b.xlsx", lambda made: made.add_worksheet().write_column(0, 0, ["a", *(c for c, _ in cells)])
    )
    of_office = SourceFile(path=path, name=path.name)
    of_document = ods(tmp_path / "b.ods", TEXT.format("a"), *(cell for _, cell in cells))
    for file in (of_office, of_document):
        assert [cell for _, cell in rows(replace(file, decimal=","))] == ["1,234", "1.234", "17,90"]
        assert [cell for _, cell in rows(file)] == ["1.234", "1.234", "17,90"]


def _with_another(part: str, old: bytes, new: bytes, path: Path) -> bytes:
    """The workbook at this path with some bytes of one of its parts changed."""
    out = io.BytesIO()
    with zipfile.ZipFile(path) as before, zipfile.ZipFile(out, "w") as after:
        for name in before.namelist():
            content = before.read(name)
            assert name != part or old in content
            after.writestr(name, content.replace(old, new, 1) if name == part else content)
    return out.getvalue()


@pytest.mark.parametrize(
    ("part", "old", "new", "words"),
    [
        ("xl/sharedStrings.xml", b'uniqueCount="2"', b'uniqueCount="4294967295"', "is damaged or cut short"),
        ("xl/worksheets/sheet1.xml", b"</sheetData>", b"", "mismatched tag"),
    ],
)
def test_a_part_that_would_take_all_memory_or_time_is_refused(tmp_path, part, old, new, words):
    path = book(tmp_path / "b.xlsx", lambda made: made.add_worksheet().write_row(0, 0, ["a", "b"]))
    assert words in refusal(source(tmp_path / "c.xlsx", _with_another(part, old, new, path)))


@pytest.mark.parametrize("odd", [b"a\x0b", b"&#1;"])
def test_characters_that_xml_may_not_hold_are_no_reason_to_refuse_a_sheet(tmp_path, odd):
    path = book(tmp_path / "b.xlsx", lambda made: made.add_worksheet().write_row(0, 0, ["fig", "b"]))
    content = _with_another("xl/sharedStrings.xml", b"fig", odd, path)
    assert read_headings(source(tmp_path / "c.xlsx", content))[1] == "b"


OF_1997 = Path(__file__).with_name("sales.xls")


def test_a_workbook_of_the_old_kind_is_read():
    found = rows(SourceFile(path=OF_1997, name="sales.xls"))
    assert len(found) == 39
    assert found[0] == (2, "2026-03-02 21:05:00", "Bar", "Drink 1", "2", "9.5")
    others = rows(SourceFile(path=OF_1997, name="sales.xls", decimal=","))
    assert others[0] == (2, "2026-03-02 21:05:00", "Bar", "Drink 1", "2", "9,5")


def test_one_that_leads_its_reader_round_in_circles_is_refused(tmp_path, capfd):
    """Its directory's first sector is said to be followed by itself ([MS-CFB] 2.2 and 2.3, places from memory)."""
    content = bytearray(OF_1997.read_bytes())
    table = 512 * (1 + int.from_bytes(content[0x4C:0x50], "little"))
    directory = content[0x30:0x34]
    place = table + 4 * int.from_bytes(directory, "little")
    content[place : place + 4] = directory
    assert "is damaged" in refusal(source(tmp_path / "t.xls", bytes(content)))
    assert capfd.readouterr().err == ""


def test_one_with_a_cell_beyond_the_last_column_is_refused(tmp_path):
    """A cell's column is the second number of its record, LABELSST 0x00FD ([MS-XLS] 2.4.149, from memory)."""
    content = bytearray(OF_1997.read_bytes())
    record = content.index(b"\xfd\x00\x0a\x00")
    content[record + 6 : record + 8] = b"\xff\x7f"
    assert "more than a table can have" in refusal(source(tmp_path / "t.xls", bytes(content)))


# Parquet and JSON lines --------------------------------------------------------------------------------------


def test_parquet_types_come_as_a_csv_would_hold_them(tmp_path):
    frame = pl.DataFrame(
        {
            "day": [date(2026, 3, 4), None],
            "at": pl.Series([datetime(2026, 7, 4, 21, 5), None]).dt.replace_time_zone("Europe/Lisbon"),
            "money": [Decimal("9.50"), None],
            "part": [2.0, float("nan")],
            "yes": [True, False],
            "list": [[1], None],
        }
    )
    path = tmp_path / "t[1].parquet"
    frame.write_parquet(path)
    assert rows(SourceFile(path=path, name="t")) == [
        (2, "2026-03-04", "2026-07-04 20:05:00+00:00", "9.50", "2", "yes", "(a list)"),  # the same moment
        (3, None, None, None, None, "no", None),
    ]


def test_a_damaged_file_over_which_polars_ends_the_process_is_read_all_the_same(capfd):
    path = Path(__file__).with_name("damaged.parquet")  # polars 2.1 asks for 2 EB to hold which of its cells are empty
    assert rows(SourceFile(path=path, name="damaged.parquet")) == [(at, "gin", "700", "ml", "21") for at in range(2, 8)]
    assert capfd.readouterr().err == ""


def test_what_a_record_holds_has_headings_of_its_own(tmp_path):
    item = {"item": {"name": "Fig", "of": {"size": 2}}, "n": 1}
    path = tmp_path / "t.parquet"
    pl.DataFrame([item, {"item": None, "n": 3}]).write_parquet(path)
    file = SourceFile(path=path, name="t")
    assert read_headings(file) == ["item.name", "item.of.size", "n"]
    assert rows(file) == [(2, "Fig", "2", "1"), (3, None, None, "3")]
    lines = as_json_lines([item, {"n": 3}])
    file = source(tmp_path / "t.jsonl", lines)
    assert read_headings(file) == ["item.name", "item.of.size", "n"]
    assert rows(file) == [(1, "Fig", "2", "1"), (2, None, None, "3")]


def test_a_parquet_header_that_declares_ten_thousand_million_rows_is_harmless(tmp_path):
    content = bytearray(as_parquet(LINES))
    length = struct.unpack("<I", content[-8:-4])[0]
    footer = content[-8 - length : -8]
    # num_rows is field 3 of FileMetaData, an i64 in Thrift's compact protocol: 0x16, then 3 as a zigzag varint.
    at = footer.index(b"\x16\x06")
    value, varint = 10_000_000_000 << 1, bytearray()
    while value > 127:
        varint.append(value & 127 | 128)
        value >>= 7
    varint.append(value)
    footer = footer.replace(b"\x16\x06", b"\x16" + bytes(varint))
    assert footer[at : at + 2] != b"\x16\x06"
    bad = bytes(content[: -8 - length] + footer + struct.pack("<I", len(footer)) + b"PAR1")
    assert refusal(source(tmp_path / "t.parquet", bad)).split(": ", 1)[1].startswith(("declares", "has row groups"))


def test_json_lines_keep_numbers_as_written_and_name_what_is_no_row(tmp_path):
    content = b'{"a": 1.10, "b": "x"}\n\n{"a": null, "b": null}\nnot json\n{"b": true}\n{"a": 1, "c": 2}\n[1]\n'
    file = source(tmp_path / "t.jsonl", content)
    [batch] = read_batches(file)
    assert read_headings(file) == ["a", "b", "c"]
    assert batch.rows.rows() == [("1.10", "x", None), (None, "yes", None), ("1", None, "2")]
    assert list(batch.row_numbers) == [1, 5, 6]
    assert batch.passed_over == 2
    assert [(one.row_number, one.problem) for one in batch.malformed] == [
        (4, "the row is no JSON (Expecting value at character 1)"),
        (7, "the row is no JSON object"),
    ]


def test_a_name_that_only_later_objects_have_is_never_lost(tmp_path):
    lines = b'{"a": 1}\n' * 1000 + b'{"a": 1, "late": 2}\n'
    [batch] = read_batches(source(tmp_path / "t.jsonl", lines))
    [one] = batch.malformed
    assert (one.row_number, one.problem) == (1001, "the row has 'late', which the first objects do not have")


def test_set_aside_rows_of_a_workbook_name_their_rows(tmp_path):
    house = make_house(tmp_path, HOUSE + SALE)
    put(tmp_path, "sale/t.xlsx", as_xlsx([*LINES, {**LINES[0], "quantity": "two"}]))
    take_in(house)
    assert reasons(house) == [(7, "quantity", "cannot be read as a number (write 1234.5)", "two")]


def test_json_lines_of_a_till_land(tmp_path):
    house = make_house(tmp_path, HOUSE + SALE)
    put(tmp_path, "sale/t.jsonl", as_json_lines(LINES) + b"{}\n")
    [outcome] = take_in(house)
    assert (outcome.rows_landed, outcome.rows_passed_over) == (3, 1)
