"""Every fault that once stopped a whole run, beside a good file: that lands, and the fault is named in one line."""

from __future__ import annotations

import csv
import io
import json
import os
import shutil
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from house_builder import HOUSE, SOURCES, command, csv_text, current, good, make_house, put, reasons, take_in
from stillroom.intake import file_intake
from stillroom.intake.checking import check
from stillroom.intake.finding import found
from written import as_parquet

NO_SUCH_DAY = good("sale", sold_at="9999-12-31 23:00-12:00")


def linked(folder: Path) -> None:
    (folder / "sale/link.csv").symlink_to("link.csv")


def hanging(folder: Path) -> None:
    os.mkfifo(folder / "sale/pipe.csv")


def leading_out(folder: Path) -> None:
    outside = folder.parent / "outside"
    put(outside, "a.csv", [good("sale", till_item="Outside")])
    (folder / "sale/2025").symlink_to(outside)


FAULTS: dict[Callable[[Path], object], str] = {
    linked: "sale/link.csv: is a link that leads nowhere: mend or delete it.",
    hanging: "sale/pipe.csv: is a pipe or a device; save what comes out of it as a file.",
    leading_out: "sale/2025: is a link that leads out of the house: ",
    lambda folder: put(folder, "sale/no.csv", json.dumps({"\ud800": 1})): (
        "sale/no.csv: is no JSON lines: its first line holds half of a character (\\ud800)."
    ),
}


def test_what_cannot_be_read_is_named_and_the_others_land(tmp_path):
    folder = tmp_path / "house"
    wider = SOURCES.replace('files = ["sale/*.csv"]', 'files = ["sale/*.csv", "sale/*/*.csv"]')
    house = make_house(folder, HOUSE + wider)
    put(folder, "sale/good.csv", [good("sale")])
    for fault in FAULTS:
        fault(folder)
    said = command("intake", house=house)
    assert said.code == 1
    assert len(said.err.splitlines()) == len(FAULTS)
    for line in FAULTS.values():
        assert line in said.err
    assert "sale/good.csv: 1 row landed" in said.out
    assert command("verify", house=house).code == 0


def test_a_linked_folder_that_a_pattern_passes_by_is_told(tmp_path):
    house = make_house(tmp_path / "house")
    for name in ("2026/a.csv", "old/b.csv", "old/more/c.csv", "notes/d.txt"):
        put(house.folder, name, "x")
    (house.folder / "2026/linked").symlink_to(house.folder / "old")
    (house.folder / "2026/notes").symlink_to(house.folder / "notes")  # it holds nothing that is meant
    (house.folder / "2026/again").symlink_to(house.folder / "2026")  # what it holds is found there
    told = {one.name: one.problem for one in found(house, "s", "2026/**/*.csv")}
    what = "2026/linked: is a link to a folder, and '**' goes into none: name it in the pattern."
    assert told == {"2026/a.csv": "", "2026/linked": what}
    assert {one.name for one in found(house, "s", "2026/linked/*.csv")} == {"old/b.csv"}


def test_rows_with_values_beyond_all_bounds_are_set_aside_and_the_others_land(tmp_path):
    house = make_house(tmp_path)
    plum = good("sale", till_item="Plum")
    put(tmp_path, "sale/a.csv", [NO_SUCH_DAY, good("sale")])
    put(tmp_path, "sale/b.csv", "\n".join(map(json.dumps, [good("sale", till_item="\udc00"), plum])))
    put(tmp_path, "sale/c.csv", as_parquet([{**good("sale", till_item="Fig Fizz"), "photo": b"\xff\0"}]))
    put(tmp_path, "sale/d.csv", as_parquet([good("sale", till_item=b"\xff\0"), good("sale", till_item=b"Quince")]))
    put(tmp_path, "sale/e.csv", as_parquet([good("sale", till_item=["Fig", "Plum"], mixers=["ice"])]))
    assert [one.status for one in take_in(house)] == ["landed"] * 5
    assert current(house, "sale", "till_item") == [("Fig Fizz",), ("Fig Sour",), ("Plum",), ("Quince",)]
    assert {(column, problem.partition(" (written")[0]) for _, column, problem, _ in reasons(house)} == {
        (None, "the row holds half of a character (\\udc00)"),
        (None, "the row holds bytes that are no text"),
        (None, "the row holds a list where one value belongs"),
        ("sold_at", "cannot be read as a date with a time of day"),
    }


@pytest.mark.skipif(not Path("/proc/self/mem").exists(), reason="no file here that fails when it is read")
def test_a_file_that_fails_when_it_is_read_stops_itself_alone(tmp_path):
    house = make_house(tmp_path)
    path = put(tmp_path, "sale/good.csv", [good("sale")])
    outcomes = {one.file: one for one in take_in(house, Path("/proc/self/mem"), path)}
    assert outcomes["sale/good.csv"].status == "landed"
    assert outcomes["/proc/self/mem"].problem == "/proc/self/mem: cannot be read (Input/output error)."


def test_a_correction_of_a_row_with_an_endless_number_stops_itself_alone(tmp_path):
    house = make_house(tmp_path)
    put(tmp_path, "sale/bad.csv", [good("sale", quantity="x")])
    take_in(house)
    command("aside", "--out", tmp_path / "out", house=house)
    [path] = (tmp_path / "out").glob("*.csv")
    [row] = csv.DictReader(io.StringIO(path.read_text()))
    path.write_text(csv_text([{**row, "quantity": "1", "set aside row": "9" * 5000}]))
    put(tmp_path, "sale/good.csv", [good("sale")])
    said = command("intake", path, tmp_path / "sale/good.csv", house=house)
    assert said.code == 1
    assert "sale/good.csv: 1 row landed" in said.out
    assert "must hold the number of the row that this one stands for, not '999999999999999999'" in said.err


@pytest.mark.parametrize("encoding", ["utf-8\\u0000", "undefined", "rot13"])
def test_an_encoding_that_is_none_is_a_fault_of_the_settings(tmp_path, encoding):
    (tmp_path / "stillroom.toml").write_text(HOUSE + SOURCES.replace("table =", f'encoding = "{encoding}"\ntable =', 1))
    said = command("intake", house=tmp_path)
    assert (said.code, said.err.count("\n")) == (2, 1)
    assert "line 7: [[source]] 'spec' encoding" in said.err
    assert "is not known; write utf-8, cp1252" in said.err


UNPRIVILEGED = () if os.geteuid() else ("setpriv", "--bounding-set", "-dac_override,-dac_read_search")
"""Before a command that is to be refused what its rights refuse."""


@pytest.mark.skipif(bool(UNPRIVILEGED) and not shutil.which("setpriv"), reason="no setpriv to give up rights with")
def test_folders_and_files_that_may_not_be_read_are_named_and_the_others_land(tmp_path):
    make_house(tmp_path, HOUSE + SOURCES.replace("sale/*.csv", "sale/**/*.csv"))
    put(tmp_path, "sale/good.csv", [good("sale")])
    put(tmp_path, "sale/closed.csv", [good("sale")]).chmod(0)
    for folder, rights in (("locked", 0), ("listed", 0o444)):
        put(tmp_path, f"sale/{folder}/a.csv", [good("sale", till_item=folder)])
        (tmp_path / "sale" / folder).chmod(rights)
    words = [*UNPRIVILEGED, sys.executable, "-m", "stillroom", "intake", "--house", tmp_path]
    said = subprocess.run(words, capture_output=True, text=True, check=False)
    for folder in ("locked", "listed"):
        (tmp_path / "sale" / folder).chmod(0o755)
    assert said.returncode == 1
    assert set(said.stderr.splitlines()) == {
        "sale/closed.csv: cannot be opened (Permission denied).",
        "sale/locked: cannot be read (Permission denied).",
        "sale/listed/a.csv: cannot be read (Permission denied).",
    }
    assert "sale/good.csv: 1 row landed" in said.stdout


CHANGES: list[Callable[[Path], object]] = [
    lambda path: path.write_text(csv_text([good("sale", till_item="Fig Fizz")])),
    lambda path: os.truncate(path, 40),
    lambda path: put(path.parent, "new", csv_text([good("sale"), good("sale")])).replace(path),
    lambda path: path.unlink(),
]


@pytest.mark.parametrize("change", CHANGES)
def test_a_file_that_changes_while_it_is_read_waits_till_it_is_whole(tmp_path, monkeypatch, change):
    house = make_house(tmp_path)
    put(tmp_path, "sale/good.csv", [good("sale", till_item="Plum", sold_at="2026-03-09 20:00")])
    path = put(tmp_path, "sale/bad.csv", [good("sale")])

    def checked(batch, *rest):
        if "Fig Sour" in batch.rows["till_item"]:
            change(path)
        return check(batch, *rest)

    monkeypatch.setattr(file_intake, "check", checked)
    said = command("intake", house=house)
    assert said.code == 1
    assert said.err == (
        "sale/bad.csv: has changed while it was read, and nothing of it was taken in: take it in once it is whole.\n"
    )
    assert current(house, "sale", "till_item") == [("Plum",)]


@pytest.mark.parametrize("pattern", [".", "*/" * 2000 + "*.csv"])
def test_a_pattern_that_is_none_is_a_fault_of_the_settings(tmp_path, pattern):
    house = make_house(tmp_path, HOUSE + SOURCES.replace("sale/*.csv", pattern))
    said = command("intake", house=house)
    assert (said.code, said.err.count("\n")) == (2, 1)
    assert "is no pattern of files" in said.err


def test_a_name_that_no_file_can_have_stops_its_pattern_alone(tmp_path):
    house = make_house(tmp_path, HOUSE + SOURCES.replace("spec/*.csv", "x" * 300 + "/*.csv"))
    put(tmp_path, "sale/good.csv", [good("sale")])
    said = command("intake", house=house)
    assert said.code == 1
    assert "cannot be read (File name too long)" in said.err
    assert "sale/good.csv: 1 row landed" in said.out


def test_a_name_too_long_for_a_file_stops_itself_alone(tmp_path):
    house = make_house(tmp_path)
    path, name = put(tmp_path, "sale/good.csv", [good("sale")]), "x" * 300
    decision = {"kind": "by hand", "day": "2026-03-01", "source": "sale", "plugin": "till-export", "file": name}
    put(tmp_path, "decisions.jsonl", json.dumps(decision) + "\n")
    said = command("intake", tmp_path / name, path, house=house)
    assert said.code == 1
    assert said.err == f"{name}: cannot be opened (File name too long).\n"
    assert "sale/good.csv: 1 row landed" in said.out


def test_what_nobody_thought_of_stops_its_own_file_alone(tmp_path, monkeypatch):
    monkeypatch.setattr("stillroom.intake.file_intake.check", lambda *rest: 1 / 0)
    house = make_house(tmp_path)
    put(tmp_path, "sale/a.csv", [good("sale")])
    put(tmp_path, "spec/a.csv", "spec,version,kind,yield_amount,yield_unit\n")
    said = command("intake", house=house)
    assert said.err == (
        "sale/a.csv: nothing of it was taken in; this is a fault in Stillroom (ZeroDivisionError: division by zero), "
        "please report it.\n"
    )
    assert "1 file of headings alone" in said.out


def test_what_programs_leave_beside_files_is_none_of_the_users(tmp_path):
    house = make_house(tmp_path, HOUSE + SOURCES.replace("sale/*.csv", "sale/*"), sale=[good("sale")])
    names = ("~$sale.xlsx", ".~lock.sale.ods#", "._sale.csv", ".#sale.csv", ".DS_Store", ".0a.1.partial")
    for name in names:
        put(tmp_path, f"sale/{name}", b"\0\5\x16\7")
    assert [(one.file, one.status) for one in take_in(house)] == [("sale/sale.csv", "landed")]
    said = command("intake", tmp_path / "sale" / names[0], house=house)
    assert said.code == 2
    assert f"sale/{names[0]}: is what a program leaves beside a file of yours, and holds none of its rows." in said.err
