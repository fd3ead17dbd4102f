"""What was decided stays decided: at the next intake, and when the store is made anew."""

from __future__ import annotations

import json
import os
import random
import shutil
from datetime import datetime

import pytest

from house_builder import HOUSE, SOURCES, command, csv_text, current, good, make_house, plugins, put, reasons, take_in
from stillroom.house.decisions import DECISIONS_NAME, Decisions, Edition
from stillroom.house.house import House
from stillroom.house.settings import load_house

REPORTS = ("report", "--format", "json")
A, B = Edition("till", "a.csv", "1"), Edition("till", "b.csv", "1")


def renewed(house: House) -> None:
    """The store is deleted, and all files are taken in again."""
    house.store_path.unlink()
    take_in(house)


def of(kind: str, **fields: object) -> str:
    """A line of decisions."""
    return json.dumps({"kind": kind, "day": "2026-03-02", **A._asdict(), **fields})


def sale(at: str, item: str = "Fig Sour", **cells: object) -> dict[str, object]:
    return good("sale", sold_at=f"2026-03-{at}", till_item=item, **cells)


def serves(house: House) -> list[tuple[object, ...]]:
    return current(house, "sale", "sold_at", "till_item", "quantity")


def verified(house: House) -> bool:
    return command("verify", house=house).code == 0


# The file itself -----------------------------------------------------------------------------------------


def test_what_follows_from_decisions(tmp_path):
    made = Decisions.load(tmp_path)
    made.add("taken", A, reading="r")
    made.add("taken", B, reading="r")
    made.add("corrected", A, rows={3: {"item": "x"}})
    made.add("undone", B)
    made.save()
    found = Decisions.load(tmp_path)
    assert (found.place(A), found.place(B)) == (1, 2)
    assert (found.stands(A), found.stands(B)) == (True, False)
    assert found.corrections(A) == {3: {"item": "x"}}
    assert found.first_days[A] == datetime.now().astimezone().date()
    found.add("redone", B)
    assert found.stands(B)
    found.forget_unsaved()
    assert not found.stands(B)
    assert (
        len((tmp_path / DECISIONS_NAME).read_text().splitlines()) == 4
    )  # a line each, which people can read and merge


def test_a_line_that_stands_twice_says_the_same(tmp_path):
    made = Decisions.load(tmp_path)
    made.add("taken", A, reading="r")
    made.add("undone", A)
    made.add("redone", A)
    made.add("renamed", B, reading="r", was_source=A.source, was=A.file)
    made.save()
    path = tmp_path / DECISIONS_NAME
    path.write_text("".join(line * 2 for line in path.read_text().splitlines(keepends=True)))
    found = Decisions.load(tmp_path)
    assert (found.stands(A), found.stands(B)) == (False, True)


def test_a_file_that_was_changed_back_comes_last(tmp_path):
    made, other = Decisions.load(tmp_path), A._replace(content="2")
    for edition in (A, other, A):
        made.add("taken", edition, reading="r")
    assert (made.place(A), made.place(other)) == (3, 2)


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("<<<<<<< ours", "it is no JSON object"),
        ('{"kind": "taken"', "it is no JSON object"),
        ('{"kind": "guess", "day": "2026-03-02"}', "of its kind, 'guess', this Stillroom knows nothing"),
        ('{"kind": "undone", "day": "2026-03-02", "source": "sale", "file": "x"}', "its 'content' is missing"),
        (
            '{"kind": "undone", "day": "2.3.26", "source": "sale", "file": "x", "content": "1"}',
            "its 'day' cannot be '2.3.26': write it like 2026-03-01",
        ),
        (
            '{"kind": "undone", "day": "2026-03-02", "source": "sale", "file": "x", "content": "1"}',
            "it says 'undone' of an edition of x that was never taken in",
        ),
        ("[" * 100_000, "it is no JSON object"),
        ('{"kind": ["taken"]}', "of its kind, ['taken'], this Stillroom knows nothing"),
        (of("undone", file="\ud800"), r"its 'file' cannot be '\ud800'"),
        (of("corrected", rows={"x": {}}), "its 'rows' cannot be {'x': {}}"),
        (of("corrected", rows={"9" * 5000: {}}), "its 'rows' cannot be {'999999999999...9999999999999': {}}"),
        (of("corrected", rows={"2": {"item": 1}}), "its 'rows' cannot be {'2': {'item': 1}}"),
        (of("withdrawn", rows=["2"]), "its 'rows' cannot be ['2']"),
        (of("confirmed", rows=[None]), "its 'rows' cannot be [None]"),
    ],
)
def test_a_damaged_or_contradictory_file_is_one_line_and_nothing_is_taken_in(tmp_path, line, said):
    house = make_house(tmp_path, sale=csv_text([sale("02 20:00")]))
    take_in(house)
    put(tmp_path, "sale/b.csv", [sale("03 20:00")])
    path = tmp_path / DECISIONS_NAME
    before = path.read_text()
    path.write_text(before + line + "\n")
    told = command("intake", house=house)
    assert (told.code, told.out) == (2, "")
    assert told.err == (f"{path}, decision 2: {said}. Nothing was done: mend that line, or put back an earlier copy.\n")
    path.write_text(before)
    assert len(serves(house)) == 1


def test_a_lost_file_of_decisions_is_made_again_from_the_ledger(tmp_path):
    house = make_house(tmp_path, sale=csv_text([sale("02 20:00")]))
    take_in(house)
    (tmp_path / DECISIONS_NAME).unlink()
    assert len(serves(house)) == 1
    assert len(Decisions.load(tmp_path).latest) == 1


# Undo and redo -------------------------------------------------------------------------------------------


def test_an_undone_file_stays_undone_and_is_told_until_it_is_redone(tmp_path):
    house = make_house(tmp_path, sale=csv_text([sale("02 20:00")]))
    take_in(house)
    assert command("undo", 1, house=house).code == 0
    for _ in range(2):
        told = command("intake", house=house)
        assert "sale/sale.csv: was undone on " in told.out
        assert "'stillroom redo' brings it back." in told.out
        assert serves(house) == []
        house.store_path.unlink()
    assert command("redo", "sale/sale.csv", house=house).code == 0
    assert len(serves(house)) == 1
    assert verified(house)


def test_an_undo_holds_though_the_file_is_read_differently(tmp_path):
    house = make_house(tmp_path, sale=csv_text([sale("02 20:00")]))
    take_in(house)
    command("undo", 1, house=house)
    put(tmp_path, "stillroom.toml", HOUSE + 'time_zone = "Asia/Tokyo"\n' + SOURCES)
    assert [one.status for one in take_in(load_house(tmp_path, plugins()))] == ["undone"]


def test_what_cannot_be_redone_is_one_clear_line(tmp_path):
    house = make_house(tmp_path, sale=csv_text([sale("02 20:00")]))
    take_in(house)
    assert command("redo", 1, house=house).err == "sale/sale.csv is not undone.\n"
    command("undo", 1, house=house)
    house.store_path.unlink()
    take_in(house)
    (tmp_path / "sale" / "sale.csv").unlink()
    said = "sale/sale.csv is neither in the store nor in the house: put it back first.\n"
    assert command("redo", "sale/sale.csv", house=house).err == said


# A store made anew ---------------------------------------------------------------------------------------


def test_a_store_made_anew_gives_every_report_byte_for_byte(tmp_path, demo_house):
    """After undos, a correction, two files taken in by hand (one a panel from elsewhere), and a renamed file."""
    folder = shutil.copytree(demo_house, tmp_path / "house")
    house = load_house(folder, plugins())
    outside = tmp_path / "elsewhere"
    command(
        "panel", "plan", "Harbour Light", 1, 2, "--panelists", 6, "--on", "2026-11-20", "--out", outside, house=house
    )
    [sheet] = outside.glob("*-sheet.csv")
    lines = sheet.read_text(encoding="utf-8").splitlines()
    scored = [lines[0], *(line.replace(",,0,10,", ",7,0,10,").replace(",,1,9,", ",7,1,9,") for line in lines[1:])]
    sheet.write_text("\n".join(scored) + "\n", encoding="utf-8")
    assert command("intake", sheet, house=house).code in (0, 1)
    command("aside", "--out", tmp_path / "aside", house=house)
    for path in (tmp_path / "aside").iterdir():
        if "batch" in path.name:
            text = path.read_text(encoding="utf-8")
            path.write_text(text.replace("x", ""), encoding="utf-8")
            take_in(house, path)
    weeks = sorted((folder / "till").glob("*.csv"))
    assert command("undo", f"till/{weeks[3].name}", house=house).code == 0
    assert command("undo", f"till/{weeks[5].name}", house=house).code == 0
    assert command("redo", f"till/{weeks[5].name}", house=house).code in (0, 1)
    weeks[7].rename(weeks[7].with_name("till-renamed.csv"))
    take_in(house)
    before = command(*REPORTS, house=house)
    assert before.code == 0
    house.store_path.unlink()
    for path in folder.rglob("*.csv"):  # nor do the times of files matter
        os.utime(path, (random.Random(path.name).randrange(10**9),) * 2)
    take_in(house)
    assert command(*REPORTS, house=house).out == before.out
    assert verified(house)


def test_corrections_given_by_hand_outlive_the_store(tmp_path):
    house = make_house(tmp_path / "house", sale=csv_text([sale("02 20:00"), sale("02 21:00", quantity="two")]))
    take_in(house)
    command("aside", "--out", tmp_path / "out", house=house)
    [path] = (tmp_path / "out").iterdir()
    path.write_text(path.read_text().replace(",two,", ",2,"))
    take_in(house, path)
    shutil.rmtree(tmp_path / "out")
    renewed(house)
    assert [quantity for *_, quantity in serves(house)] == [1, 2]
    assert reasons(house) == []
    assert verified(house)


def test_a_line_of_a_wide_file_is_corrected_whole(tmp_path):
    wide = 'wide = { headings_are = "panelist", cells_are = "score" }\n'
    house = make_house(tmp_path / "house", HOUSE + SOURCES.replace('table = "tasting"\n', f'table = "tasting"\n{wide}'))
    common = {name: cell for name, cell in good("tasting").items() if name not in ("panelist", "score")}
    put(house.folder, "tasting/t.csv", [common | {"Ana": "7", "Bo": "five"}])
    take_in(house)
    assert current(house, "tasting", "panelist") == []  # the line goes whole
    command("aside", "--out", tmp_path / "out", house=house)
    [path] = (tmp_path / "out").iterdir()
    path.write_text(path.read_text().replace(",five", ",5"))
    take_in(house, path)
    assert current(house, "tasting", "panelist", "score") == [("Ana", 7.0), ("Bo", 5.0)]


@pytest.mark.parametrize("inside", [True, False])
def test_a_file_taken_in_by_hand_is_the_houses_from_then_on(tmp_path, inside):
    house = make_house(tmp_path / "house")
    path = put(house.folder if inside else tmp_path, "odd/sales.csv", [sale("02 20:00")])
    assert [one.file for one in take_in(house, path)] == ["odd/sales.csv" if inside else "by-hand/sales.csv"]
    if not inside:
        other = put(tmp_path, "other/sales.csv", [sale("03 20:00")])  # of the same name, and another file
        assert [one.file for one in take_in(house, other, path)] == ["by-hand/2/sales.csv", "by-hand/sales.csv"]
        shutil.rmtree(tmp_path / "odd")
    before = serves(house)
    renewed(house)
    assert serves(house) == before
    assert verified(house)


def test_a_file_that_is_refused_leaves_no_copy_behind(tmp_path):
    house = make_house(tmp_path / "house")
    head = "sold_at,till_item,quantity,net_amount\n"
    for text in (head, "nothing,of,use\n1,2,3\n"):
        [outcome] = take_in(house, put(tmp_path, "odd.csv", text))
        assert outcome.status == "refused"
    assert not list(house.folder.rglob("odd.csv"))
    assert not (house.folder / DECISIONS_NAME).exists()


# Identity of files ---------------------------------------------------------------------------------------

VENUES = 'venues = ["Bar", "Terrace"]\n'
BY_NAME = '[[source]]\nname = "till"\nplugin = "till-export"\nfiles = ["till/*.csv"]\nvenue_in_name = "{venue}-"\n'
BY_SOURCE = "".join(
    f'[[source]]\nname = "{venue}"\nplugin = "till-export"\nfiles = ["till/{venue}-*.csv"]\n'
    f'[source.constants]\nvenue = "{venue}"\n'
    for venue in ("Bar", "Terrace")
)


@pytest.mark.parametrize("sources", [BY_NAME, BY_SOURCE])
def test_byte_equal_exports_of_two_venues_both_count(tmp_path, sources):
    house = make_house(tmp_path, HOUSE + VENUES + sources)
    for venue in ("Bar", "Terrace"):
        put(tmp_path, f"till/{venue}-1.csv", [sale("02 20:00")])
    for _ in range(2):
        take_in(house)
        assert current(house, "sale", "venue") == [("Bar",), ("Terrace",)]
    assert [one.status for one in take_in(house)] == ["unchanged"] * 2
    assert verified(house)


def test_the_order_of_intake_outlives_the_times_of_files(tmp_path):
    house = make_house(tmp_path / "house")
    for name, cost in (("b", "21"), ("a", "30")):
        path = put(house.folder, f"ingredient/{name}.csv", [good("ingredient", priced_on="2026-03-01", pack_cost=cost)])
        take_in(house)
        os.utime(path, (0, 0))
    assert current(house, "ingredient", "pack_cost") == [(30,)]
    copy = tmp_path / "copy"
    shutil.copytree(house.folder, copy, copy_function=shutil.copyfile)
    renewed(load_house(copy, plugins()))
    assert current(load_house(copy, plugins()), "ingredient", "pack_cost") == [(30,)]


def test_a_renamed_file_counts_once_and_keeps_its_place(tmp_path):
    house = make_house(tmp_path)
    rows = [good("batch", batch="x", made_amount="1")]
    old = put(tmp_path, "batch/old.csv", rows)
    take_in(house)
    put(tmp_path, "batch/later.csv", [good("batch", batch="x", made_amount="2")])
    take_in(house)
    old.rename(tmp_path / "batch" / "new.csv")
    outcomes = {one.file: one for one in take_in(house)}
    assert outcomes["batch/new.csv"].was == "batch/old.csv"
    assert "batch/old.csv" not in outcomes
    assert current(house, "batch", "made_amount") == [(2.0,)]
    assert verified(house)
    renewed(house)
    assert current(house, "batch", "made_amount", "file") == [(2.0, "batch/later.csv")]


def test_a_copy_of_an_export_beside_it_counts_once(tmp_path):
    house = make_house(tmp_path)
    rows = [sale("02 20:00"), sale("02 21:00")]
    for name in ("a", "b"):
        put(tmp_path, f"sale/{name}.csv", rows)
    take_in(house)
    assert len(serves(house)) == 2
    assert verified(house)


# Files kept by hand --------------------------------------------------------------------------------------


def test_what_was_deleted_or_renamed_in_a_file_kept_by_hand_is_gone_and_told(tmp_path):
    house = make_house(tmp_path)
    put(tmp_path, "batch/batch.csv", [good("batch", batch=label) for label in ("FC-1", "FC-2", "FC-3")])
    take_in(house)
    put(tmp_path, "batch/batch.csv", [good("batch", batch=label) for label in ("FC-1", "FC-9")])
    told = command("intake", house=house).out.splitlines()
    assert told[1:3] == ["  Gone from it: FC-2; FC-3.", "  New in it: FC-9."]
    assert current(house, "batch", "batch") == [("FC-1",), ("FC-9",)]
    assert verified(house)
    put(tmp_path, "batch/batch.csv", csv_text([good("batch")]).splitlines()[0])  # nothing but its headings
    take_in(house)
    assert current(house, "batch", "batch") == []


def test_a_setting_says_otherwise(tmp_path):
    said = 'table = "batch"\n'
    house = make_house(tmp_path, HOUSE + SOURCES.replace(said, f"{said}kept = false\n"))
    put(tmp_path, "batch/batch.csv", [good("batch", batch="FC-1")])
    take_in(house)
    put(tmp_path, "batch/batch.csv", [good("batch", batch="FC-2")])
    [outcome] = take_in(house)
    assert (outcome.went, outcome.kept_of_older) == ((), 1)
    assert current(house, "batch", "batch") == [("FC-1",), ("FC-2",)]


def test_a_missing_file_is_told_and_counts_until_it_is_confirmed(tmp_path):
    house = make_house(tmp_path)
    path = put(tmp_path, "batch/old.csv", [good("batch")])
    take_in(house)
    assert command("gone", "batch/old.csv", house=house).err == (
        "batch/old.csv is there: 'stillroom undo batch/old.csv' takes its rows out, or delete it first.\n"
    )
    content = path.read_bytes()
    path.unlink()
    told = command("intake", house=house)
    assert "batch/old.csv is not there any more; 1 rows of it still count. Is it gone for good? " in told.out
    assert current(house, "batch", "batch") == [("FC-1",)]
    assert command("gone", "batch/old.csv", house=house).out == "Gone: batch/old.csv, 1 row (intake 1).\n"
    assert current(house, "batch", "batch") == []
    assert verified(house)
    path.write_bytes(content)  # it was found again
    take_in(house)
    assert current(house, "batch", "batch") == [("FC-1",)]
