"""Rows set aside, written out, corrected and taken in again: they complete their file, once, and replace nothing."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest

from house_builder import HOUSE, ask, books, command, current, good, make_house, put, reasons, take_in
from stillroom.house.house import House
from stillroom.store import opening
from stillroom.store import waiting as store_waiting
from stillroom_schemas import TABLES

pytestmark = pytest.mark.usefixtures("rows_alone")


def written_out(house: House, folder: Path) -> Path:
    said = command("aside", "--out", folder, house=house)
    assert said.code == 0
    [path] = folder.iterdir()
    return path


def edited(path: Path, *changes: tuple[str, str]) -> Path:
    text = path.read_text(encoding="utf-8")
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    path.write_text(text, encoding="utf-8")
    return path


@pytest.fixture
def house(tmp_path: Path) -> House:
    """Three till lines: one good, two bad."""
    house = make_house(tmp_path / "house")
    rows = [
        good("sale", sold_at="2026-03-02 20:00"),
        good("sale", sold_at="2026-03-02 20:01", quantity="zwei"),
        good("sale", sold_at="2026-03-02 20:02", till_item="=1+1", net_amount="-9"),
    ]
    put(house.folder, "sale/sale.csv", rows)
    take_in(house)
    return house


def items(house: House) -> list[tuple[str, int]]:
    return [(item, int(quantity)) for item, quantity in current(house, "sale", "till_item", "quantity")]


def test_the_round_trip_completes_the_file_and_replaces_nothing(house, tmp_path):
    path = edited(written_out(house, tmp_path / "out"), ("zwei", "2"), (",-9", ",9"))
    [outcome] = take_in(house, path)
    assert (outcome.status, outcome.rows_landed, outcome.rows_corrected, outcome.superseded) == ("landed", 3, 2, 0)
    assert items(house) == [("=1+1", 1), ("Fig Sour", 1), ("Fig Sour", 2)]
    assert reasons(house) == []
    assert command("aside", house=house).out == "Nothing is set aside.\n"
    assert [(e.intake_id, e.file, bool(e.corrections)) for e in books(house)] == [
        (1, "sale/sale.csv", False),
        (2, "sale/sale.csv", True),
    ]


def test_a_formula_is_harmless_in_the_file_and_itself_again_in_the_store(house, tmp_path):
    path = written_out(house, tmp_path / "out")
    with path.open(encoding="utf-8", newline="") as file:
        cells = [cell for row in csv.DictReader(file) for cell in row.values()]
    assert "'=1+1" in cells
    assert not any(cell.startswith(("=", "@", "+")) for cell in cells)


def test_the_same_correction_never_lands_twice(house, tmp_path):
    path = edited(written_out(house, tmp_path / "out"), ("zwei", "2"), (",-9", ",9"))
    take_in(house, path)
    before = ask(house, "SELECT * FROM sale ORDER BY ALL")
    [again] = take_in(house, path)
    assert (again.status, again.problem) == ("unchanged", "holds no row that waits and was corrected; nothing changed")
    edited(path, (",2,", ",4,"))  # undo the correction first, to correct it otherwise
    assert [o.status for o in take_in(house, path)] == ["unchanged"]
    assert ask(house, "SELECT * FROM sale ORDER BY ALL") == before


def test_a_correction_may_come_in_two_parts(house, tmp_path):
    whole = written_out(house, tmp_path / "out").read_text(encoding="utf-8").replace("zwei", "2").replace(",-9", ",9")
    heading, first, second = whole.splitlines(keepends=True)
    take_in(house, put(tmp_path, "first.csv", heading + first))
    assert [row[0] for row in reasons(house)] == [4]
    [outcome] = take_in(house, put(tmp_path, "both.csv", heading + first + second))
    assert (outcome.rows_landed, outcome.rows_corrected) == (3, 2)
    assert items(house) == [("=1+1", 1), ("Fig Sour", 1), ("Fig Sour", 2)]
    assert reasons(house) == []


def test_a_row_that_is_still_wrong_waits_as_it_was_corrected(house, tmp_path):
    first = edited(written_out(house, tmp_path / "out"), ("zwei", "zero"), (",-9", ",9"))
    [outcome] = take_in(house, first)
    assert (outcome.rows_landed, outcome.rows_set_aside) == (2, 1)
    assert [(n, column, value) for n, column, _, value in reasons(house)] == [(3, "quantity", "zero")]
    second = edited(written_out(house, tmp_path / "out2"), ("zero", "2"))
    take_in(house, second)
    assert items(house) == [("=1+1", 1), ("Fig Sour", 1), ("Fig Sour", 2)]
    assert len({e.corrections for e in books(house)}) == 3


def test_undoing_a_file_undoes_its_corrections(house, tmp_path):
    take_in(house, edited(written_out(house, tmp_path / "out"), ("zwei", "2"), (",-9", ",9")))
    assert command("undo", 1, house=house).out == "Undone: intake 1, sale/sale.csv, 1 row.\n"
    assert items(house) == []
    assert reasons(house) == []
    assert command("redo", 1, house=house).code == 0
    assert items(house) == [("=1+1", 1), ("Fig Sour", 1), ("Fig Sour", 2)]


def test_undoing_a_correction_lets_its_rows_wait_again(house, tmp_path):
    path = edited(written_out(house, tmp_path / "out"), ("zwei", "2"), (",-9", ",9"))
    take_in(house, path)
    said = "Undone: 2 corrected rows of sale/sale.csv; it counts as it was read before.\n"
    assert command("undo", 2, house=house).out == said
    assert items(house) == [("Fig Sour", 1)]
    assert [row[0] for row in reasons(house)] == [3, 4]
    take_in(house, path)
    assert items(house) == [("=1+1", 1), ("Fig Sour", 1), ("Fig Sour", 2)]


def test_undoing_a_correction_undoes_the_correction_of_it(house, tmp_path):
    take_in(house, edited(written_out(house, tmp_path / "out"), ("zwei", "zero"), (",-9", ",9")))
    take_in(house, edited(written_out(house, tmp_path / "out2"), ("zero", "2")))
    command("undo", 2, house=house)
    assert items(house) == [("Fig Sour", 1)]
    assert [row[0] for row in reasons(house)] == [3, 4]


def test_a_correction_is_known_in_any_folder(house):
    """Also in one that the settings read till exports from: it must not pass for a newer export of that day."""
    command("aside", "--out", house.folder / "sale", house=house)
    edited(house.folder / "sale" / "aside-1-sale.csv", ("zwei", "2"), (",-9", ",9"))
    assert [o.superseded for o in take_in(house)] == [0, 0]
    assert items(house) == [("=1+1", 1), ("Fig Sour", 1), ("Fig Sour", 2)]


def test_its_own_columns_are_not_called_unused(house, tmp_path):
    path = edited(written_out(house, tmp_path / "out"), ("zwei", "2"), (",-9", ",9"))
    said = command("intake", path, house=house)
    assert "3 rows landed in sale, 2 corrected by hand (intake 2)." in said.out
    assert "Not used" not in said.out


def test_a_spreadsheet_may_save_it_with_semicolons(house, tmp_path):
    path = edited(written_out(house, tmp_path / "out"), ("zwei", "2"), (",-9", ",9"))
    with path.open(encoding="utf-8", newline="") as file:
        rows = list(csv.reader(file))
    with path.open("w", encoding="utf-8-sig", newline="") as file:
        csv.writer(file, delimiter=";").writerows(rows)
    take_in(house, path)
    assert items(house) == [("=1+1", 1), ("Fig Sour", 1), ("Fig Sour", 2)]


def test_a_row_without_its_number_is_one_clear_line(house, tmp_path):
    path = written_out(house, tmp_path / "out")
    lines = path.read_text(encoding="utf-8").splitlines()
    lines[1] = lines[1].replace(",3,", ",,", 1)
    [outcome] = take_in(house, put(tmp_path, "c.csv", "\n".join(lines)))
    assert outcome.problem.endswith(
        "row 2: the column 'set aside row' must hold the number of the row that this one stands for, not ''. "
        "Nothing of it was taken in."
    )


def test_a_correction_of_what_does_not_count_is_refused(house, tmp_path):
    text = "set aside from,edition,set aside row,sold_at\nsale/sale.csv,sha256:0,3,\n"
    [outcome] = take_in(house, put(tmp_path, "c.csv", text))
    assert "corrects an edition of sale/sale.csv that does not count (sha256:0)" in outcome.problem


def test_a_correction_of_two_files_is_refused(house, tmp_path):
    text = "set aside from,edition,set aside row,sold_at\na.csv,x,3,\nb.csv,x,3,\n"
    [outcome] = take_in(house, put(tmp_path, "c.csv", text))
    assert "must hold rows of one edition of one file" in outcome.problem


def test_rows_of_a_file_that_has_changed_since_are_corrected_where_they_lie(house, tmp_path):
    path = edited(written_out(house, tmp_path / "out"), ("zwei", "2"))
    put(house.folder, "sale/sale.csv", [good("sale")])
    [outcome] = take_in(house, path)
    assert "which has changed since or is gone: correct them where they lie." in outcome.problem


def test_a_malformed_row_can_be_corrected_too(tmp_path):
    text = "sold_at,till_item,quantity,net_amount\n2026-03-02 20:00,Fig Sour,1\n2026-03-02 20:01,Fig,Sour,1,9\n"
    house = make_house(tmp_path / "house", sale=text)
    take_in(house)
    path = written_out(house, tmp_path / "out")
    with path.open(encoding="utf-8", newline="") as file:
        short, long = csv.DictReader(file)
    assert (short["quantity"], short["net_amount"]) == ("1", "")
    assert [*long.values()][4:] == ["2026-03-02 20:01", "Fig", "Sour", "1", "9"]
    edited(path, ("Fig Sour,1,", "Fig Sour,1,9"), ("Fig,Sour,1,9", "Fig Sour,1,9,"))
    take_in(house, path)
    assert items(house) == [("Fig Sour", 1), ("Fig Sour", 1)]


def test_the_written_file_is_never_overwritten(house, tmp_path):
    written_out(house, tmp_path / "out")
    said = command("aside", "--out", tmp_path / "out", house=house)
    assert said.code == 2
    assert "is there already" in said.err


def test_a_folder_that_is_a_file_is_one_clear_line(house):
    said = command("aside", "--out", house.folder / "stillroom.toml", house=house)
    assert said.code == 2
    assert said.err.count("\n") == 1
    assert "cannot be made: File exists" in said.err


def test_corrections_hold_when_the_file_is_read_in_another_way(house, tmp_path):
    """The settings change: the file is read anew, and the user's own correction still stands, once."""
    take_in(house, edited(written_out(house, tmp_path / "out"), ("zwei", "2")))
    settings = (house.folder / "stillroom.toml").read_text(encoding="utf-8")
    house = make_house(house.folder, settings.replace("[house]", '[house]\nvenues = ["Front bar"]'))
    outcomes = take_in(house)
    assert [o.replaced_intake for o in outcomes] == [2]
    assert items(house) == [("Fig Sour", 1), ("Fig Sour", 2)]
    assert [row[1] for row in reasons(house)] == ["net_amount"]
    assert current(house, "sale", "venue") == [("Front bar",), ("Front bar",)]


def test_corrections_hold_when_a_missing_partner_comes(tmp_path):
    house = make_house(tmp_path / "house")
    put(house.folder, "spec/spec.csv", [good("spec")])
    lines = [good("spec_line", amount="lots"), good("spec_line", spec="Other"), good("spec_line", line="2")]
    put(house.folder, "spec_line/lines.csv", lines)
    take_in(house)
    take_in(house, edited(written_out(house, tmp_path / "out"), ("lots", "45")))
    assert current(house, "spec_line", "spec", "line", "amount") == [("Fig Sour", 1, 45.0), ("Fig Sour", 2, 50.0)]
    put(house.folder, "spec/more.csv", [good("spec", spec="Other")])
    take_in(house)
    rows = [("Fig Sour", 1, 45.0), ("Fig Sour", 2, 50.0), ("Other", 1, 50.0)]
    assert current(house, "spec_line", "spec", "line", "amount") == rows
    assert reasons(house) == []


def test_a_correction_of_an_earlier_reading_completes_the_new_one(house, tmp_path):
    corrected = edited(written_out(house, tmp_path / "out"), ("zwei", "2"))
    settings = (house.folder / "stillroom.toml").read_text(encoding="utf-8")
    house = make_house(house.folder, settings.replace("[house]", '[house]\nvenues = ["Front bar"]'))
    take_in(house)
    [outcome] = take_in(house, corrected)
    assert (outcome.rows_landed, outcome.rows_corrected) == (2, 1)
    assert items(house) == [("Fig Sour", 1), ("Fig Sour", 2)]
    assert current(house, "sale", "venue") == [("Front bar",), ("Front bar",)]


def test_a_row_that_comes_back_as_it_was_waits_where_it_is(house, tmp_path):
    [outcome] = take_in(house, edited(written_out(house, tmp_path / "out"), ("zwei", "2")))
    assert (outcome.rows_landed, outcome.rows_set_aside, outcome.rows_corrected) == (2, 1, 1)
    assert [row[0] for row in reasons(house)] == [4]


def test_a_row_that_comes_back_twice_as_it_was_waits_where_it_is(house, tmp_path):
    take_in(house, edited(written_out(house, tmp_path / "out"), ("zwei", "zero"), (",-9", ",9")))
    [outcome] = take_in(house, written_out(house, tmp_path / "out2"))
    assert outcome.problem == "holds no row that waits and was corrected; nothing changed"


def spec_book(house: House, **cells: str) -> None:
    put(house.folder, "spec/a.csv", [good("spec", note="first"), good("spec", version="2", note="second", **cells)])
    take_in(house)


def test_a_corrected_key_that_its_file_has_is_set_aside_though_a_newer_file_replaces_that_row(house, tmp_path):
    spec_book(house, yield_amount="one")
    put(house.folder, "spec/b.csv", [good("spec", note="newer")])
    take_in(house)
    command("aside", "--out", tmp_path / "out", house=house)
    path = next(path for path in (tmp_path / "out").iterdir() if "Fig Sour,2" in path.read_text())
    take_in(house, edited(path, ("one", "1"), ("Fig Sour,2", "Fig Sour,1")))
    command("undo", 3, house=house)
    assert current(house, "spec", "version", "note") == [(1, "first")]


def waiting(house):
    with opening.reading(house, TABLES) as con:
        return [(row["file"], row["row_number"]) for row in store_waiting.open_rows(con, house).to_dicts()]


def test_what_was_set_aside_of_an_edition_waits_no_longer_once_a_later_one_replaces_it(tmp_path):
    house = make_house(tmp_path)
    wrong, right = good("ingredient", item="sherry", pack_amount="much"), good("ingredient", item="sherry")
    put(tmp_path, "ingredient/ingredient.csv", [good("ingredient"), wrong])
    put(tmp_path, "batch/batch.csv", [good("batch", made_amount="much")])
    take_in(house)
    assert len(waiting(house)) == 2
    put(tmp_path, "ingredient/ingredient.csv", [good("ingredient"), right])
    put(tmp_path, "batch/batch.csv", [good("batch", made_amount="900")])
    take_in(house)
    assert waiting(house) == []


def test_what_is_still_wrong_in_the_later_edition_waits_once(tmp_path):
    house = make_house(tmp_path)
    for amount in ("much", "plenty"):
        wrong = good("ingredient", item="sherry", pack_amount=amount)
        put(tmp_path, "ingredient/ingredient.csv", [good("ingredient"), wrong])
        take_in(house)
    assert waiting(house) == [("ingredient/ingredient.csv", 3)]


def test_rows_of_other_days_under_the_same_name_wait_on(tmp_path):
    house = make_house(tmp_path)
    for day, number in (("2026-03-02", "one"), ("2026-03-09", "2")):
        sales = [good("sale", sold_at=f"{day} 20:00"), good("sale", sold_at=f"{day} 21:00", quantity=number)]
        put(tmp_path, "sale/sale.csv", sales)
        take_in(house)
    assert waiting(house) == [("sale/sale.csv", 3)]


def test_rows_of_a_till_export_of_which_nothing_landed_wait_on(tmp_path):
    house = make_house(tmp_path)
    for day, number in (("2026-03-02", "one"), ("2026-03-09", "2")):
        put(tmp_path, "sale/sale.csv", [good("sale", sold_at=f"{day} 21:00", quantity=number)])
        take_in(house)
    assert waiting(house) == [("sale/sale.csv", 2)]


def test_undoing_the_later_edition_lets_them_wait_again(tmp_path):
    house = make_house(tmp_path)
    for amount in ("much", "9"):
        wrong = good("ingredient", item="sherry", pack_amount=amount)
        put(tmp_path, "ingredient/ingredient.csv", [good("ingredient"), wrong])
        take_in(house)
    assert command("undo", 2, house=house).code == 0
    assert waiting(house) == [("ingredient/ingredient.csv", 3)]


def test_headings_like_formulas_and_cells_with_carriage_returns_come_back_as_they_were(tmp_path):
    columns = '[[source]]\nname = "till"\nplugin = "till-export"\nfiles = ["t.csv"]\ncolumns = {till_item = "=item"}\n'
    house = make_house(tmp_path / "house", HOUSE + columns)
    heading, cells = "sold_at,=item,quantity,net_amount,+note", '2026-03-02 20:00,"=fig\rsour",two,18,"a\r=1+1"'
    put(house.folder, "t.csv", f"{heading}\n{cells}\n")
    take_in(house)
    out = written_out(house, tmp_path / "out")
    with out.open(encoding="utf-8", newline="") as file:
        assert not any(cell.startswith(("=", "+")) for row in csv.reader(file) for cell in row)
    assert [outcome.status for outcome in take_in(house, out)] == ["unchanged"]
    take_in(house, edited(out, ('"two"', '"zwei"')))
    take_in(house, edited(written_out(house, tmp_path / "again"), ("zwei", "2")))
    assert items(house) == [("=fig sour", 2)]
    assert reasons(house) == []
