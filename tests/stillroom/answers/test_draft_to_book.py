"""A draft becomes the next version in the file that the house keeps, in its own words, and nothing else changes."""

from __future__ import annotations

import io
import os
import zipfile
from pathlib import Path

import pytest
import xlsxwriter

import stillroom
from house_builder import HOUSE, command, good, make_house, put
from stillroom.analysis.bench.edits import Edit
from stillroom.errors import FileRefused, StillroomError, UsageError

PRICES = """[[source]]
name = "prices"
plugin = "price-list"
files = ["prices.csv"]
"""
BOOK = """[[source]]
name = "specs"
plugin = "spec-book"
table = "spec"
files = ["{specs}"]
{reading}[source.columns]
spec = "Rezept"
version = "Stand"
kind = "Art"
yield_amount = "Ergibt"
yield_unit = "Ergibt in"
in_service_from = "Ab"
note = "Anmerkung"

[[source]]
name = "lines"
plugin = "spec-book"
table = "spec_line"
files = ["{lines}"]
{reading}[source.columns]
spec = "Rezept"
version = "Stand"
item = "Zutat"
amount = "Menge"

"""
SPECS = [
    ["Rezept", "Stand", "Art", "Ergibt", "Ergibt in", "Ab", "Anmerkung", "Glas"],
    ["Küstensirup", 1, "preparation", 1, "l", "2026-01-05", "kühl, dunkel", "Flasche"],
    ["Fen Sour", 1, "drink", 1, "serve", "2026-01-05", "", "Schale"],
]
LINES = [
    ["Rezept", "Stand", "Zutat", "Menge", "Woher"],
    ["Küstensirup", 1, "white sugar", "0,5 kg", "Markt"],
    ["Küstensirup", 1, "water", "7 dl", ""],
    ["Fen Sour", 1, "Küstensirup", "2,5 cl", ""],
]


def price_list() -> list[dict[str, object]]:
    return [
        good("ingredient", item="white sugar", pack_amount=1000, pack_unit="g", pack_cost=2),
        good("ingredient", item="citric acid", pack_amount=100, pack_unit="g", pack_cost=3),
    ]


def as_text(grid: list[list[object]], end: str) -> bytes:
    return (end.join(";".join(str(cell) for cell in row) for row in grid)).encode("cp1252")


def german_house(folder: Path, end: str = "\r\n") -> stillroom.OpenHouse:
    """A book of delimited text as an old spreadsheet saves it: cp1252, semicolons, decimal commas, no last line end."""
    reading = 'encoding = "cp1252"\ndecimal = ","\n'
    text = HOUSE + BOOK.format(specs="rezepte.csv", lines="zutaten.csv", reading=reading) + PRICES
    make_house(folder, text)
    put(folder, "prices.csv", price_list())
    put(folder, "rezepte.csv", as_text(SPECS, end))
    put(folder, "zutaten.csv", as_text(LINES, end))
    return taken_in(folder)


def taken_in(folder: Path) -> stillroom.OpenHouse:
    house = stillroom.open(folder)
    assert {outcome.status for outcome in house.intake()} == {"landed"}
    return house


CHANGES = [Edit(kind="set", text="white sugar=450 g"), Edit(kind="add", text="citric acid=4 g")]


def lines_of(house: stillroom.OpenHouse, spec: str, version: int) -> list[tuple[object, ...]]:
    return house.sql(
        "SELECT item, amount, unit FROM current_spec_line WHERE spec = ? AND version = ? ORDER BY line", spec, version
    ).rows()


def test_delimited_text_gains_rows_in_its_own_words(tmp_path):
    house = german_house(tmp_path / "house")
    folder = house.settings.folder
    before = {name: (folder / name).read_bytes() for name in ("rezepte.csv", "zutaten.csv")}
    written = house.write_draft(house.draft("küstensirup", edits=CHANGES))
    assert (written.version, written.files) == (2, ("rezepte.csv", "zutaten.csv"))
    added = {name: (folder / name).read_bytes()[len(was) :].decode("cp1252") for name, was in before.items()}
    assert all((folder / name).read_bytes().startswith(was) for name, was in before.items())
    assert added["zutaten.csv"] == (
        "\r\nKüstensirup;2;white sugar;0,45 kg;Markt\r\nKüstensirup;2;water;7 dl;\r\nKüstensirup;2;citric acid;4 g;\r\n"
    )
    # By hand: 1 000 ml came of 500 g and 700 ml, so that what is lost on the way stays in proportion.
    assert added["rezepte.csv"].startswith("\r\nKüstensirup;2;preparation;0,9")
    assert added["rezepte.csv"].endswith(";l;;From version 1: kühl, dunkel;Flasche\r\n")
    house.intake()
    assert lines_of(house, "Küstensirup", 2) == [
        ("white sugar", 0.45, "kg"),
        ("water", 7.0, "dl"),
        ("citric acid", 4.0, "g"),
    ]
    service = house.sql("SELECT DISTINCT version FROM service_span WHERE spec = 'Küstensirup'").rows()
    assert service == [(1,)]


def workbook(folder: Path) -> Path:
    """A workbook with both lists, a table, formats, blank rows with a format, a formula, and another sheet."""
    path = folder / "book.xlsx"
    book = xlsxwriter.Workbook(str(path))
    bold, two = book.add_format({"bold": True}), book.add_format({"num_format": "0.00"})
    for name, grid in {"Rezepte": SPECS, "Zutaten": LINES}.items():
        sheet = book.add_worksheet(name)
        for number, row in enumerate(grid):
            for place, cell in enumerate(row):
                sheet.write(number + 2, place + 1, cell, bold if not number else two)
        for number in range(len(grid), len(grid) + 9):
            sheet.write_blank(number + 2, 1, None, two)
        if name == "Zutaten":
            sheet.write_formula(4, 6, "=2*3", two, 6)
            sheet.add_table(2, 1, len(grid) + 1, 5, {"columns": [{"header": h} for h in grid[0]]})
    other = book.add_worksheet("Notizen")
    other.write(0, 0, "not to be touched")
    other.insert_textbox(2, 2, "a drawing")
    book.close()
    return path


def test_a_workbook_gains_rows_and_every_other_part_stays_byte_for_byte(tmp_path):
    folder = tmp_path / "house"
    reading = 'decimal = ","\nsheet = "{}"\n'
    text = BOOK.format(specs="book.xlsx", lines="book.xlsx", reading="READING")
    for sheet in ("Rezepte", "Zutaten"):
        text = text.replace("READING", reading.format(sheet), 1)
    make_house(folder, HOUSE + text + PRICES)
    put(folder, "prices.csv", price_list())
    path = workbook(folder)
    house = taken_in(folder)
    before = parts(path)
    written = house.write_draft(house.draft("Küstensirup", edits=CHANGES))
    after = parts(path)
    changed = {name for name in before if before[name] != after[name]}
    assert before.keys() == after.keys()
    assert changed == {"xl/worksheets/sheet1.xml", "xl/worksheets/sheet2.xml", "xl/tables/table1.xml"}
    assert b'ref="B3:F9"' in after["xl/tables/table1.xml"]  # 4 rows with the headings before, 7 now
    assert b'<dimension ref="B3:G' in after["xl/worksheets/sheet2.xml"]
    assert written.files == ("book.xlsx, sheet Rezepte", "book.xlsx, sheet Zutaten")
    assert {o.status for o in house.intake() if "book" in o.file} == {"landed"}
    assert lines_of(house, "Küstensirup", 2) == [
        ("white sugar", 0.45, "kg"),
        ("water", 7.0, "dl"),
        ("citric acid", 4.0, "g"),
    ]


def parts(path: Path) -> dict[str, bytes]:
    with zipfile.ZipFile(io.BytesIO(path.read_bytes())) as book:
        return {name: book.read(name) for name in book.namelist()}


ONE_LIST = """[[source]]
name = "lines"
plugin = "spec-book"
table = "spec_line"
files = ["book.csv"]
fill_down = ["spec"]
columns = { spec = "Preparation", item = "What", amount = "How much (g)" }

[[source]]
name = "specs"
plugin = "spec-book"
table = "spec"
files = ["book.csv"]
only_with = ["spec"]
once = true
constants = { kind = "preparation" }
columns = { spec = "Preparation", yield_amount = "Makes", in_service_from = "Since" }

"""


def test_one_list_with_names_given_once(tmp_path):
    folder = tmp_path / "house"
    make_house(folder, HOUSE + ONE_LIST + PRICES)
    put(folder, "prices.csv", price_list())
    text = "Preparation,Makes,Since,What,How much (g)\nMarsh syrup v1,1 kg,2026-01-05,white sugar,500\n,,,water,500\n"
    put(folder, "book.csv", text)
    house = stillroom.open(folder)
    house.intake()
    house.write_draft(house.draft("Marsh syrup", edits=CHANGES))
    added = (folder / "book.csv").read_text().removeprefix(text)
    assert added == "Marsh syrup v2,0.954 kg,,white sugar,450\n,,,water,500\n,,,citric acid,4\n"


def undated(folder: Path) -> None:
    text = (folder / "rezepte.csv").read_bytes().replace(b"2026-01-05", b"")
    (folder / "rezepte.csv").write_bytes(text)


@pytest.mark.parametrize(
    ("before", "edits", "says"),
    [
        (
            lambda folder: None,
            [Edit(kind="add", text="dried kelp=3 g")],
            "neither the price list nor the spec book holds",
        ),
        (lambda folder: None, [], "is Küstensirup, version 1 as it is"),
        (undated, CHANGES, r"no version of Küstensirup has a day of service.*rezepte.csv, row 2"),
    ],
)
def test_what_cannot_be_written_is_one_line_and_nothing_changes(tmp_path, before, edits, says):
    house = german_house(tmp_path / "house")
    folder = house.settings.folder
    before(folder)
    house.intake()
    was = {path.name: path.read_bytes() for path in folder.glob("*.csv")}
    found = house.draft("Küstensirup", edits=edits)
    with pytest.raises(UsageError, match=says) as told:
        house.write_draft(found)
    assert "\n" not in str(told.value)
    assert {path.name: path.read_bytes() for path in folder.glob("*.csv")} == was


def test_a_draft_that_misses_an_aim_is_not_written(tmp_path):
    house = german_house(tmp_path / "house")
    was = (house.settings.folder / "zutaten.csv").read_bytes()
    found = house.draft("Küstensirup", aims=["cost<=0.01/making"], free=["white sugar=400..600 g"])
    with pytest.raises(UsageError, match=r"the draft misses cost<=0\.01/making: ask for what can be had"):
        house.write_draft(found)
    assert (house.settings.folder / "zutaten.csv").read_bytes() == was


def test_a_file_that_has_changed_since_is_not_written_over(tmp_path):
    house = german_house(tmp_path / "house")
    found = house.draft("Küstensirup", edits=CHANGES)
    with (house.settings.folder / "zutaten.csv").open("ab") as file:
        file.write(b"\r\nFen Sour;1;water;2 cl;")
    with pytest.raises(FileRefused, match="has changed since it was taken in: run 'stillroom intake' first"):
        house.write_draft(found)


def test_where_the_second_file_cannot_be_written_the_first_is_as_it_was(tmp_path, monkeypatch):
    house = german_house(tmp_path / "house")
    folder = house.settings.folder
    was = {path.name: path.read_bytes() for path in folder.glob("*.csv")}
    found = house.draft("Küstensirup", edits=CHANGES)
    replace = os.replace

    def full(source, target):
        if str(target).endswith("zutaten.csv"):
            raise OSError(28, "No space left on device")
        return replace(source, target)

    monkeypatch.setattr(os, "replace", full)
    with pytest.raises(FileRefused, match=r"zutaten.csv: cannot be written \(No space left on device\)"):
        house.write_draft(found)
    assert {path.name: path.read_bytes() for path in folder.glob("*.csv")} == was
    assert not list(folder.glob(".*partial"))


def test_a_book_of_blocks_is_left_to_its_keeper(tmp_path):
    folder = tmp_path / "house"
    text = BOOK.format(specs="specs.csv", lines="lines.csv", reading="").replace(
        'table = "spec_line"', 'table = "spec_line"\nbook = true'
    )
    make_house(folder, HOUSE + text + PRICES)
    put(folder, "prices.csv", price_list())
    put(folder, "specs.csv", as_text(SPECS, "\n").decode("cp1252"))
    put(folder, "lines.csv", "\n".join(";".join(map(str, row)) for row in LINES).replace("0,5", "0.5"))
    house = stillroom.open(folder)
    house.intake()
    with pytest.raises(StillroomError, match="is kept as blocks"):
        house.write_draft(house.draft("Küstensirup", edits=CHANGES))


def test_on_a_terminal(tmp_path):
    house = german_house(tmp_path / "house", end="\n")
    folder = house.settings.folder
    said = command("draft", "Küstensirup", "--set", "white sugar=450 g", "--write", house=folder)
    assert said.code == 0
    assert "Written: Küstensirup, version 2, not in service, into rezepte.csv and zutaten.csv." in " ".join(
        said.out.split()
    )
    assert "stillroom panel plan" in said.out
    values = command("draft", "Küstensirup", "--drop", "water", "--json", house=folder).json
    assert values["written"] is None
