"""An earlier content of a file put back, and a file that another source reads: what counts, and what is told of it."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from house_builder import HOUSE, books, command, csv_text, current, good, make_house, plugins, put, take_in
from stillroom.house.house import House
from stillroom.house.settings import load_house

pytestmark = pytest.mark.usefixtures("rows_alone")


def batches(*labels: str) -> str:
    return csv_text(good("batch", batch=label) for label in labels)


def sales(*days: int, **cells: str) -> str:
    """A line at eight and one at nine, of each of these days of March."""
    return csv_text(good("sale", sold_at=f"2026-03-0{day} {at}:00", **cells) for day in days for at in (20, 21))


def labels(house: House) -> list[str]:
    return [label for (label,) in current(house, "batch", "batch")]


def days(house: House) -> list[int]:
    return [at.day for (at,) in current(house, "sale", "sold_at")]


# Put back ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("old_time", [True, False])
def test_what_an_earlier_content_that_is_put_back_changes_is_told(tmp_path: Path, old_time: bool) -> None:
    house = make_house(tmp_path)
    path = put(tmp_path, "batch/b.csv", batches("x", "y"))
    times = path.stat()
    take_in(house)
    put(tmp_path, "batch/b.csv", batches("x", "z"))
    take_in(house)
    put(tmp_path, "batch/b.csv", batches("x", "y"))
    if old_time:
        os.utime(path, ns=(times.st_atime_ns, times.st_mtime_ns))
    told = command("intake", house=house).out.splitlines()
    assert told[:3] == [
        "batch/b.csv: taken in before as intake 1; it counts again.",
        "  2 rows of earlier files or editions superseded.",
        "  Other name: z is now y.",
    ]
    assert labels(house) == ["x", "y"]
    assert command("verify", house=house).code == 0


def test_undo_of_a_file_means_the_edition_that_was_put_back(tmp_path: Path) -> None:
    house = make_house(tmp_path)
    for names in ("xy", "xz", "xy"):
        put(tmp_path, "batch/b.csv", batches(*names))
        take_in(house)
    assert command("undo", "batch/b.csv", house=house).out == "Undone: intake 1, batch/b.csv, 2 rows.\n"
    assert labels(house) == ["x", "z"]
    said = command("verify", house=house)
    assert "what it holds now is undone; put it back, or 'stillroom redo batch/b.csv'." in said.out
    assert "takes it anew" not in said.out
    assert command("redo", "batch/b.csv", house=house).code == 0
    assert labels(house) == ["x", "y"]


def test_a_shorter_export_that_is_put_back_takes_no_line_out_and_verify_tells_which_are_in_no_file(
    tmp_path: Path,
) -> None:
    house = make_house(tmp_path)
    for content in (sales(2), sales(2, 3), sales(2)):
        put(tmp_path, "sale/a.csv", content)
        told = command("intake", house=house).out.splitlines()
    assert days(house) == [2, 2, 3, 3]
    assert told[2] == "  2 rows of earlier editions of this file still count: this one says nothing in their place."
    said = command("verify", house=house).out
    assert "sale/a.csv: 2 rows of intake 2 are in force, but the file was overwritten" in said
    assert "has changed since" not in said


# Corrections -------------------------------------------------------------------------------------------------


@pytest.fixture
def corrected(tmp_path: Path) -> House:
    """Two rows of a batch book were wrong; one is corrected, and once more, as it was still wrong, with the other."""
    house = make_house(tmp_path / "house")
    rows = [good("batch"), good("batch", batch="x", made_amount="much"), good("batch", batch="y", made_amount="much")]
    put(house.folder, "batch/b.csv", rows)
    take_in(house)
    write_corrections(house, "first", {"x": "lots"})
    write_corrections(house, "then", {"x": "500", "y": "600"})
    return house


def write_corrections(house: House, name: str, amounts: dict[str, str]) -> Path:
    """What waits is written into a folder that the settings name, some amounts of it put right, and taken in."""
    command("aside", "--out", house.folder / name, house=house)
    [path] = (house.folder / name).iterdir()
    lines = path.read_text(encoding="utf-8").splitlines()
    for label, amount in amounts.items():
        lines = [one.replace("much,", f"{amount},").replace("lots,", f"{amount},") if f",{label}," in one else one
                 for one in lines]  # fmt: skip
    path.unlink()
    path = put(house.folder, f"batch/{name}.csv", "\n".join(lines) + "\n")
    take_in(house)
    return path


def amounts(house: House) -> list[tuple[str, float]]:
    return [one for one in current(house, "batch", "batch", "made_amount") if one[0] != "FC-1"]


def test_undoing_the_last_correction_brings_back_the_one_before_and_holds(corrected: House) -> None:
    assert amounts(corrected) == [("x", 500), ("y", 600)]
    assert command("undo", "batch/b.csv", house=corrected).out == (
        "Undone: 2 corrected rows of batch/b.csv; it counts as it was read before.\n"
    )
    assert amounts(corrected) == []
    waits = [one["value"] for one in command("aside", "--json", house=corrected).json]
    assert waits == ["lots", "much"]
    told = {one.file: one for one in take_in(corrected)}
    assert told["batch/then.csv"].problem == "was undone: name it in 'stillroom intake' to take it in again"
    assert amounts(corrected) == []
    take_in(corrected, corrected.folder / "batch" / "then.csv")
    assert amounts(corrected) == [("x", 500), ("y", 600)]


def test_undoing_an_earlier_correction_counts_at_once(tmp_path: Path, corrected: House) -> None:
    put(corrected.folder, "batch/b.csv", [good("batch"), good("batch", batch="x", made_amount="much"),
                                          good("batch", batch="y", made_amount="none")])  # fmt: skip
    take_in(corrected)
    write_corrections(corrected, "one", {"x": "500"})
    command("aside", "--out", tmp_path / "out", house=corrected)
    [path] = (tmp_path / "out").iterdir()
    take_in(corrected, put(tmp_path, "two.csv", path.read_text().replace("none,", "600,")))
    assert amounts(corrected) == [("x", 500), ("y", 600)]
    first = [one.intake_id for one in books(corrected)][-2]
    assert command("undo", first, house=corrected).out.startswith("Undone: 1 corrected row of batch/b.csv")
    assert amounts(corrected) == [("y", 600)]
    assert command("verify", house=corrected).code == 0


def test_a_correction_is_undone_in_a_store_made_anew_too(corrected: House) -> None:
    corrected.store_path.unlink()
    take_in(corrected)
    assert amounts(corrected) == [("x", 500), ("y", 600)]
    path = corrected.folder / "batch" / "b.csv"
    content = path.read_bytes()
    path.unlink()
    said = command("undo", 1, house=corrected)
    assert (said.code, said.err) == (
        2,
        "batch/b.csv has changed since or is gone, and cannot be read as before: put it back first.\n",
    )
    path.write_bytes(content)
    assert command("undo", 1, house=corrected).code == 0
    assert amounts(corrected) == []
    assert command("verify", house=corrected).code == 0


def test_corrections_of_a_content_that_is_put_back_count_again(corrected: House) -> None:
    path = corrected.folder / "batch" / "b.csv"
    content = path.read_bytes()
    path.write_text(batches("z"), encoding="utf-8")
    take_in(corrected)
    path.write_bytes(content)
    take_in(corrected)
    assert amounts(corrected) == [("x", 500), ("y", 600)]
    corrected.store_path.unlink()
    take_in(corrected)
    assert amounts(corrected) == [("x", 500), ("y", 600)]


# Other sources -----------------------------------------------------------------------------------------------


def till(name: str, files: str, **constants: str) -> str:
    said = "".join(f'[source.constants]\n{column} = "{value}"\n' for column, value in constants.items())
    return f'[[source]]\nname = "{name}"\nplugin = "till-export"\nfiles = ["{files}"]\n{said}'


def with_sources(house: House, *sources: str) -> House:
    (house.folder / "stillroom.toml").write_text(HOUSE + "".join(sources), encoding="utf-8")
    return load_house(house.folder, plugins())


def same_anew(house: House) -> bool:
    """Whether a store made anew has the same lines."""
    before = current(house, "sale", "sold_at", "till_item")
    house.store_path.unlink()
    take_in(house)
    return current(house, "sale", "sold_at", "till_item") == before


def test_a_source_with_another_name_brings_back_neither_older_editions_nor_undone_files(tmp_path: Path) -> None:
    house = make_house(tmp_path, HOUSE + till("till", "t/*.csv"))
    put(tmp_path, "t/bad.csv", sales(5))
    for content in (sales(2), sales(2, 3)):
        put(tmp_path, "t/a.csv", content)
        take_in(house)
    assert command("undo", "t/bad.csv", house=house).code == 0
    house = with_sources(house, till("pos", "t/*.csv"))
    told = {one.file: one for one in take_in(house)}
    assert (told["t/a.csv"].was, told["t/bad.csv"].status) == ("t/a.csv of source till", "undone")
    assert days(house) == [2, 2, 3, 3]
    assert same_anew(house)
    assert command("redo", "t/bad.csv", house=house).code == 0
    assert days(house) == [2, 2, 3, 3, 5, 5]


def test_an_export_that_is_put_away_is_compared_with_those_of_its_source_whatever_that_is_called(
    tmp_path: Path,
) -> None:
    house = make_house(tmp_path, HOUSE + till("till", "t/*.csv"))
    first, second = put(tmp_path, "t/1.csv", sales(2, 3, 4)), put(tmp_path, "t/2.csv", sales(5))
    take_in(house)
    first.unlink()
    house = with_sources(house, till("pos", "t/*.csv"))
    take_in(house)
    put(tmp_path, "t/3.csv", sales(3, 4, 5))
    take_in(house)
    assert days(house) == [2, 2, 3, 3, 4, 4, 5, 5]
    assert second.exists()


def test_an_undone_file_stays_so_under_another_name(tmp_path: Path) -> None:
    house = make_house(tmp_path)
    path = put(tmp_path, "sale/a.csv", sales(2))
    take_in(house)
    command("undo", "sale/a.csv", house=house)
    path.rename(tmp_path / "sale" / "b.csv")
    assert [one.status for one in take_in(house)] == ["undone"]
    assert days(house) == []
    assert command("redo", "sale/b.csv", house=house).code == 0
    assert days(house) == [2, 2]


@pytest.mark.parametrize("new", [False, True])
def test_a_file_that_falls_to_another_source_counts_once(tmp_path: Path, new: bool) -> None:
    """With what it held, or with new content; and when it falls back."""
    narrow, wide = till("bar", "t/*.csv"), till("all", "*/*.csv")
    house = make_house(tmp_path, HOUSE + narrow)
    put(tmp_path, "t/a.csv", sales(2, 3))
    take_in(house)
    if new:
        put(tmp_path, "t/a.csv", sales(2, 3, 4))
    house = with_sources(house, wide, narrow)
    take_in(house)
    there = [2, 2, 3, 3, 4, 4] if new else [2, 2, 3, 3]
    assert days(house) == there
    assert [one.status for one in take_in(house)] == ["unchanged"]
    assert same_anew(house)
    house = with_sources(house, narrow, wide)
    put(tmp_path, "t/a.csv", sales(2, 3))  # where it was new, this is put back, and tells of a day less
    take_in(house)
    assert days(house) == there


def test_a_book_that_falls_to_another_source_is_all_that_it_says(tmp_path: Path) -> None:
    def book(name: str) -> str:
        return f'[[source]]\nname = "{name}"\nplugin = "batch-book"\ntable = "batch"\nfiles = ["b.csv"]\n'

    house = make_house(tmp_path, HOUSE + book("one"))
    for source, names in (("one", "xy"), ("two", "xz"), ("one", "xy"), ("two", "xy")):
        put(tmp_path, "b.csv", batches(*names))
        house = with_sources(house, book(source))
        take_in(house)
        assert labels(house) == [*names]
    assert command("verify", house=house).code == 0


def test_a_file_moved_to_the_folder_of_another_source_counts_there_alone(tmp_path: Path) -> None:
    rooms = '[house]\nname = "T"\ncurrency = "EUR"\nvenues = ["Bar", "Room"]\n'
    house = make_house(
        tmp_path, rooms + till("bar", "bar/*.csv", venue="Bar") + till("room", "room/*.csv", venue="Room")
    )
    path = put(tmp_path, "bar/a.csv", sales(2))
    put(tmp_path, "room/other.csv", sales(5))
    take_in(house)
    path.rename(tmp_path / "room" / "a.csv")
    told = {one.file: one.was for one in take_in(house)}
    assert told["room/a.csv"] == "bar/a.csv"
    assert current(house, "sale", "venue") == [("Room",)] * 4
    assert same_anew(house)


def test_a_file_that_no_source_names_any_more_is_told_until_it_is_said_to_be_gone(tmp_path: Path) -> None:
    house = make_house(tmp_path, HOUSE + till("till", "*/*.csv"))
    for name in ("t/a.csv", "u/b.csv"):
        put(tmp_path, name, sales(2 if name == "t/a.csv" else 3))
    take_in(house)
    house = with_sources(house, till("till", "t/*.csv"))
    told = command("intake", house=house).out
    assert "u/b.csv is read no more by source 'till'; 2 rows of it still count. Is it gone for good? " in told
    assert command("gone", "u/b.csv", house=house).code == 0
    assert days(house) == [2, 2]


def test_an_export_with_another_name_brings_back_no_line_that_was_struck_out_of_it(tmp_path: Path) -> None:
    house = make_house(tmp_path)
    path = put(tmp_path, "sale/a.csv", [good("sale"), good("sale", till_item="struck out")])
    take_in(house)
    put(tmp_path, "sale/a.csv", [good("sale")])
    take_in(house)
    path.rename(tmp_path / "sale" / "b.csv")
    take_in(house)
    assert current(house, "sale", "till_item") == [("Fig Sour",)]
    assert command("verify", house=house).code == 0


def test_a_file_that_two_sources_name_is_read_once(tmp_path: Path) -> None:
    """Also where one of them names sheets, which a file of text has not."""
    sheets = till("other", "t/*").replace("files", 'sheet = ["Sales"]\nfiles')
    house = make_house(tmp_path, HOUSE + till("till", "t/*.csv") + sheets)
    put(tmp_path, "t/a.csv", sales(2))
    assert [(one.source, one.status) for one in take_in(house)] == [("till", "landed")]
    assert days(house) == [2, 2]
