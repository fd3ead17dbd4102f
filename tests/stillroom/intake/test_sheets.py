"""Sheets of a workbook: each is taken in, kept in the ledger, superseded, undone and verified by itself."""

from __future__ import annotations

import io
from pathlib import Path

import pytest
import xlsxwriter

from house_builder import HOUSE, ask, books, command, current, good, make_house, plugins, put, reasons, take_in
from stillroom.house.house import House
from stillroom.house.settings import load_house
from stillroom.verifying import verify

Rows = list[dict[str, object]]


def source(name: str, plugin: str, sheet: str, more: str = "") -> str:
    return f'[[source]]\nname = "{name}"\nplugin = "{plugin}"\nfiles = ["*.xlsx"]\n{sheet}\n{more}'


def book(house: House, sheets: dict[str, Rows], name: str = "book.xlsx") -> Path:
    out = io.BytesIO()
    with xlsxwriter.Workbook(out) as made:
        for title, rows in sheets.items():
            sheet = made.add_worksheet(title)
            for place, row in enumerate([dict(zip(rows[0], rows[0], strict=True)), *rows] if rows else []):
                sheet.write_row(place, 0, [str(cell) for cell in row.values()])
            if title.startswith("hidden"):
                sheet.hide()
    return put(house.folder, name, out.getvalue())


def settled(house: House) -> None:
    """Taking everything in again changes nothing, and a store made anew is the same."""
    assert {outcome.status for outcome in take_in(house)} <= {"unchanged"}
    assert verify(house, plugins(), lambda *_: None).differences == ()


BATCHES = source("batches", "batch-book", 'sheet = "Batches"')
PRICES = source("prices", "price-list", 'sheet = "Prices"')
TWO: dict[str, Rows] = {"Batches": [good("batch")], "Prices": [good("ingredient"), good("ingredient", item="fig")]}
MONTHS = source("till", "till-export", 'sheet = "2026-*"')


def sales(**quantities: int) -> dict[str, Rows]:
    return {
        f"2026-{month[1:]}": [good("sale", sold_at=f"2026-{month[1:]}-02 20:00", quantity=number)]
        for month, number in quantities.items()
    }


def test_two_sources_read_two_sheets_of_one_file(tmp_path):
    house = make_house(tmp_path, HOUSE + BATCHES + PRICES)
    book(house, TWO)
    landed = {outcome.file: outcome.rows_landed for outcome in take_in(house)}
    assert landed == {"book.xlsx, sheet Batches": 1, "book.xlsx, sheet Prices": 2}
    assert current(house, "ingredient", "file", "row_number") == [
        ("book.xlsx, sheet Prices", 2),
        ("book.xlsx, sheet Prices", 3),
    ]
    settled(house)
    numbers = {entry.sheet: entry.intake_id for entry in books(house)}
    assert command("undo", numbers["Prices"], house=house).out == (
        f"Undone: intake {numbers['Prices']}, book.xlsx, sheet Prices, 2 rows.\n"
    )
    assert (current(house, "batch", "batch"), current(house, "ingredient", "item")) == ([("FC-1",)], [])
    assert verify(house, plugins(), lambda *_: None).agrees


@pytest.mark.usefixtures("rows_alone")
def test_a_changed_sheet_replaces_its_own_rows(tmp_path):
    house = make_house(tmp_path, HOUSE + BATCHES + PRICES)
    book(house, TWO)
    take_in(house)
    book(house, {**TWO, "Prices": [good("ingredient", pack_cost="22")]})
    take_in(house)
    assert current(house, "ingredient", "item", "pack_cost") == [("gin", 22)]
    assert current(house, "batch", "batch") == [("FC-1",)]
    assert {outcome.status for outcome in take_in(house)} == {"unchanged"}


@pytest.mark.usefixtures("rows_alone")
def test_one_source_reads_a_sheet_a_month(tmp_path):
    house = make_house(tmp_path, HOUSE + MONTHS)
    sheets = {"Notes": [{"a": "b"}], **sales(m02=2, m01=1, m03=3), "2026-04": [], "hidden 2026-05": [good("sale")]}
    sheets["2026-03"].append(good("sale", sold_at="2026-03-03 20:00", quantity="x"))
    book(house, sheets)
    take_in(house)
    assert [entry.file for entry in books(house)] == [f"book.xlsx, sheet 2026-0{n}" for n in (2, 1, 3)]
    assert sorted(current(house, "sale", "quantity")) == [(1,), (2,), (3,)]
    assert [number for number, *_ in reasons(house)] == [3]
    assert command("aside", house=house).out.startswith("book.xlsx, sheet 2026-03, row 3: quantity ")
    settled(house)
    book(house, sales(m02=2, m01=9, m03=3, m04=4))
    take_in(house)
    assert sorted(current(house, "sale", "quantity")) == [(2,), (3,), (4,), (9,)]


def test_a_sheet_that_is_named_and_not_there_is_refused_alone(tmp_path):
    house = make_house(tmp_path, HOUSE + source("till", "till-export", 'sheet = ["2026-01", "2026-07"]'))
    book(house, sales(m01=1, m02=2))
    assert [(outcome.file, outcome.status, outcome.problem) for outcome in take_in(house)] == [
        (
            "book.xlsx, sheet 2026-07",
            "refused",
            "book.xlsx, sheet 2026-07: has no sheet '2026-07'; there are: 2026-01, 2026-02.",
        ),
        ("book.xlsx, sheet 2026-01", "landed", ""),
    ]


@pytest.mark.parametrize("before", ["", 'sheet = "2026-01"'])
@pytest.mark.usefixtures("rows_alone")
def test_naming_more_sheets_counts_no_row_twice(tmp_path, before):
    house = make_house(tmp_path, HOUSE + source("till", "till-export", before))
    if before:
        book(house, sales(m01=1, m02=2))
    else:
        book(house, {"Notes": [{"a": "b"}], **sales(m01=1)})
    take_in(house)
    put(tmp_path, "stillroom.toml", HOUSE + source("till", "till-export", 'sheet = "2026-*"'))
    house = load_house(tmp_path, plugins())
    take_in(house)
    assert sorted(current(house, "sale", "quantity")) == ([(1,), (2,)] if before else [(1,)])
    settled(house)


def test_each_sheet_is_read_by_the_first_source_that_names_it(tmp_path):
    first, every = source("first", "till-export", 'sheet = "2026-01"'), source("every", "till-export", 'sheet = "*"')
    house = make_house(tmp_path, HOUSE + first + every + source("no sheet", "till-export", ""))
    book(house, sales(m01=1, m02=2))
    take_in(house)
    assert {entry.file[-7:]: entry.source for entry in books(house)} == {"2026-01": "first", "2026-02": "every"}


def test_a_source_without_a_sheet_has_the_one_it_finds(tmp_path):
    house = make_house(
        tmp_path, HOUSE + source("batches", "batch-book", "") + source("all", "batch-book", 'sheet = "*"')
    )
    book(house, {"Notes": [{"a": "b"}], "Batches": [good("batch")]})
    refused, landed = sorted(take_in(house), key=lambda outcome: outcome.status, reverse=True)
    assert (refused.file, refused.status) == ("book.xlsx, sheet Notes", "refused")
    assert (landed.file, landed.source) == ("book.xlsx", "batches")


@pytest.mark.usefixtures("rows_alone")
def test_a_sheet_each_panelist_is_one_session(tmp_path):
    """A newer file replaces a session whole; sheets of one book only what they tell twice."""
    house = make_house(tmp_path, HOUSE + source("panel", "tasting-sheet", 'sheet = "*"'))
    sheets = {name: [good("tasting", panelist=name)] for name in ("Ana", "Bo")}
    sheets["All"] = [good("tasting", panelist=name) for name in ("Ana", "Bo")]
    book(house, sheets)
    take_in(house)
    assert current(house, "tasting", "panelist") == [("Ana",), ("Bo",)]
    book(house, {"Bo": [good("tasting", panelist="Bo", score="2")]})
    take_in(house)
    assert current(house, "tasting", "panelist", "score") == [("Bo", 2)]
    command("undo", 4, house=house)
    assert current(house, "tasting", "panelist", "score") == [("Ana", 7), ("Bo", 7)]


def test_answers_without_a_key_stand_side_by_side_too(tmp_path):
    house = make_house(tmp_path, HOUSE + source("panel", "trial-sheet", 'sheet = "*"'))
    book(house, {name: [good("trial", panelist=name)] for name in ("Ana", "Bo", "Cy")})
    take_in(house)
    assert len(current(house, "trial", "panelist")) == 3
    settled(house)


@pytest.mark.usefixtures("rows_alone")
def test_a_corrected_row_of_a_sheet_goes_back_to_it(tmp_path):
    house = make_house(tmp_path, HOUSE + source("panel", "tasting-sheet", 'sheet = "*"'))
    rows = {
        name: [good("tasting", panelist=name), good("tasting", panelist=name, version="0")] for name in ("Ana", "Bo")
    }
    book(house, rows)
    take_in(house)
    command("aside", "--out", tmp_path / "out", house=house)
    for file in sorted((tmp_path / "out").iterdir()):
        put(tmp_path, f"out/{file.name}", file.read_text().replace(",0,liking", ",2,liking"))
        take_in(house, file)
    assert len(current(house, "tasting", "panelist", "version")) == 4
    settled(house)


def test_the_venue_in_the_name_of_a_sheet(tmp_path):
    house = HOUSE + 'venues = ["St. Ives", "Bar"]\n'
    house = make_house(
        tmp_path, house + source("till", "till-export", 'sheet = "Sales *"', 'venue_in_name = "Sales {venue}"\n')
    )
    book(house, {"Sales St. Ives": [good("sale")], "Sales Bar": [good("sale")]})
    take_in(house)
    assert ask(house, "SELECT venue, file FROM current_sale ORDER BY 1") == [
        ("Bar", "book.xlsx, sheet Sales Bar"),
        ("St. Ives", "book.xlsx, sheet Sales St. Ives"),
    ]


def test_look_writes_a_source_for_each_table_of_a_workbook(tmp_path):
    house = make_house(tmp_path, HOUSE)
    path = book(house, {"Notes": [{"a": "b"}], **TWO, **sales(m01=1, m02=2)})
    for table in ("ingredient", "batch", "sale"):
        said = command("look", path, "--table", table, "--write", house=house)
        assert "Written into" in said.out, said
    assert '"2026-*"' in (tmp_path / "stillroom.toml").read_text()
    assert {outcome.file: outcome.rows_landed for outcome in take_in(load_house(tmp_path, plugins()))} == {
        "book.xlsx": 2,
        "book.xlsx, sheet Batches": 1,
        "book.xlsx, sheet 2026-01": 1,
        "book.xlsx, sheet 2026-02": 1,
    }


def test_look_says_which_sheets_nothing_reads(tmp_path):
    house = make_house(tmp_path, HOUSE + BATCHES)
    path = book(house, {**TWO, "March": [good("batch")]})
    said = " ".join(command("look", path, house=house).out.split())
    assert "stillroom.toml has all that it needs" in said
    assert "NOT read, with the same headings: sheet 'March'" in said
    assert "Not read: sheet 'Prices'" in said


def test_a_heading_that_is_not_used_makes_no_sheet_another_kind(tmp_path):
    house = make_house(tmp_path, HOUSE)
    rows = {name: [good("sale")] for name in ("Mai", "Juni")}
    path = book(house, {**rows, "Juli": [good("sale", waiter="Jo")]})
    assert 'sheet = "*"' in command("look", path, house=house).out
