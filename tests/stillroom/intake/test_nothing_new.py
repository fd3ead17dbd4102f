"""What is kept of an intake that found nothing new is what another would say, whatever became of the house."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import pytest

from house_builder import HOUSE, SOURCES, Said, command, csv_text, good, make_house, plugins, put, take_in
from stillroom.answers.panel_plan.drawing import KEY_COLUMNS
from stillroom.house.house import House
from stillroom.house.settings import load_house
from stillroom.intake import nothing_new
from stillroom.store import kept_answers
from stillroom.store.working_copy import held


@pytest.fixture(autouse=True)
def _at_rest(monkeypatch: pytest.MonkeyPatch) -> None:
    """Nobody changes a file while a test takes it in; and modules that other tests write are none of today's."""
    monkeypatch.setattr(nothing_new, "AT_REST_NS", 0)
    monkeypatch.setattr(kept_answers, "BEGAN", time.time_ns() + 10**12)


@pytest.fixture
def house(tmp_path: Path) -> House:
    house = make_house(tmp_path / "house")
    put(house.folder, "spec/spec.csv", [good("spec", price="9"), good("spec", version="2", kind="?")])
    put(house.folder, "sale/1.csv", [good("sale"), good("sale", till_item="Fig Suor")])
    put(house.folder, "sale/2.csv", [good("sale", sold_at="2026-03-03 20:00")])
    put(house.folder, "batch/blank.csv", csv_text([good("batch")]).splitlines()[0] + "\n")
    take_in(house)
    return house


@pytest.fixture
def kept(monkeypatch: pytest.MonkeyPatch) -> list[bool]:
    """Of every intake that might have nothing new, whether that was known beforehand."""
    asked = []

    def noted(watch: nothing_new.Watch) -> nothing_new.Said | None:
        found = said(watch)
        asked.append(found is not None)
        return found

    said = nothing_new.Watch.said
    monkeypatch.setattr(nothing_new.Watch, "said", noted)
    return asked


def known(house: House, form: str = "said") -> bool:
    """Whether an intake would be known to find nothing new, of the house by the settings it has now."""
    return nothing_new.watched(load_house(house.folder, plugins()), plugins(), form).said() is not None


# What may become of a house -------------------------------------------------------------------------------


def nothing(house: House) -> None:
    """Nothing has changed."""


def rewritten(house: House) -> None:
    """Another amount in a file of the same size, with the times that it had."""
    _rewrite(house.folder / "sale/1.csv")


def _rewrite(path: Path) -> None:
    before = path.stat()
    text = path.read_text(encoding="utf-8")
    path.write_text(text.replace(",9", ",8") if ",9" in text else text.replace(",8", ",9"), encoding="utf-8")
    os.utime(path, ns=(before.st_atime_ns, before.st_mtime_ns))
    assert path.stat().st_size == before.st_size


def back_from_a_copy(house: House) -> None:
    """A file as it was before, with its time of then."""
    path, copy = house.folder / "spec/spec.csv", house.folder / "copy.csv"
    shutil.copy2(path, copy)
    put(house.folder, "spec/spec.csv", [good("spec", price="8")])
    command("intake", house=house)
    copy.replace(path)


def taken_away(house: House) -> None:
    (house.folder / "spec/spec.csv").rename(house.folder / "spec.away")


def put_back(house: House) -> None:
    (house.folder / "spec.away").rename(house.folder / "spec/spec.csv")


def another_file(house: House) -> None:
    put(house.folder, "sale/3.csv", [good("sale", sold_at="2026-03-04 20:00", quantity="x")])


def linked(house: House) -> None:
    put(house.folder, "one.csv", [good("sale", sold_at="2026-03-05 20:00")])
    put(house.folder, "two.csv", [good("sale", sold_at="2026-03-06 20:00")])
    (house.folder / "sale/link.csv").symlink_to("../one.csv")


def linked_elsewhere(house: House) -> None:
    (house.folder / "sale/link.csv").unlink()
    (house.folder / "sale/link.csv").symlink_to("../two.csv")


def a_setting(house: House) -> None:
    (house.folder / "stillroom.toml").write_text(
        HOUSE + SOURCES.replace('table = "sale"', 'table = "sale"\ntax_pct = 20'), encoding="utf-8"
    )


def undone(house: House) -> None:
    command("undo", "sale/1.csv", house=house)


def decisions_of_before(house: House) -> None:
    """The decisions as another copy of the house has them."""
    path = house.folder / "decisions.jsonl"
    path.write_text("".join(path.read_text(encoding="utf-8").splitlines(keepends=True)[:-1]), encoding="utf-8")


def by_hand(house: House) -> None:
    put(house.folder.parent, "brought.csv", [good("sale", sold_at="2026-03-07 20:00")])
    command("intake", house.folder.parent / "brought.csv", "--source", "sale", house=house)


def changed_by_hand(house: House) -> None:
    [brought] = house.folder.rglob("brought.csv")
    _rewrite(brought)


def a_session(house: House) -> None:
    """A sheet of codes, with the key that says what they were."""
    put(house.folder, "tasting/s1-sheet.csv", csv_text([good("tasting", version="", code="417")]))
    _put_key(house, version="1")


def its_key(house: House) -> None:
    """The same sheet: the key now says that it was another version."""
    _put_key(house, version="2")


def _put_key(house: House, version: str) -> None:
    glass = {"session": "s1", "panelist": "P1", "position": "1", "code": "417", "spec": "Fig Sour", "version": version}
    put(house.folder, "tasting/keys/s1-key.csv", csv_text([{**dict.fromkeys(KEY_COLUMNS, ""), **glass}]))


def store_gone(house: House) -> None:
    house.store_path.unlink()


STEPS: tuple[Callable[[House], None], ...] = (
    *(rewritten, back_from_a_copy, taken_away, put_back, another_file, linked, linked_elsewhere, a_setting, undone),
    *(decisions_of_before, by_hand, changed_by_hand, a_session, its_key, nothing),
)


@pytest.mark.usefixtures("rows_alone")
def test_it_says_what_an_intake_would_that_remembers_nothing(house: House, kept: list[bool], tmp_path: Path) -> None:
    _go_through(STEPS, "said", (), house, kept, tmp_path / "twin")


def test_so_it_does_in_json_and_of_what_is_derived(house: House, kept: list[bool], tmp_path: Path) -> None:
    _go_through((nothing, rewritten, store_gone), "json", ("--json",), house, kept, tmp_path / "twin")


def _go_through(
    steps: tuple[Callable[[House], None], ...],
    form: str,
    words: tuple[str, ...],
    house: House,
    kept: list[bool],
    twin: Path,
) -> None:
    for step in steps:
        for _ in range(2):  # until it has found nothing new: that could wrongly be said again
            command("intake", *words, house=house)
            if known(house, form):
                break
        else:
            raise AssertionError(f"nothing is kept before {step.__name__}")
        step(house)
        said, decisions = _by_one_that_remembers_nothing(house, twin, words)
        kept.clear()
        assert command("intake", *words, house=house) == said, step.__name__
        assert kept == [step is nothing], step.__name__
        assert (house.folder / "decisions.jsonl").read_bytes() == decisions, step.__name__


def _by_one_that_remembers_nothing(house: House, twin: Path, words: tuple[str, ...]) -> tuple[Said, bytes]:
    """What an intake says of a copy of the house that has nothing kept, and the decisions that it leaves."""
    shutil.rmtree(twin, ignore_errors=True)
    shutil.copytree(house.folder, twin, symlinks=True, ignore=shutil.ignore_patterns(kept_answers.FOLDER))
    return command("intake", *words, house=twin), (twin / "decisions.jsonl").read_bytes()


# When nothing is kept or known ----------------------------------------------------------------------------


def test_a_file_that_was_changed_just_now_may_be_changed_once_more(house, monkeypatch):
    monkeypatch.setattr(nothing_new, "AT_REST_NS", 10**15)
    command("intake", house=house)
    assert not known(house)
    monkeypatch.setattr(nothing_new, "AT_REST_NS", 0)
    command("intake", house=house)
    assert known(house)


def test_times_in_whole_seconds_tell_later(house):
    began = 2_000_000_000_000_000_000
    assert not nothing_new._is_at_rest([began - 10**9, began - 10**9], began)
    assert nothing_new._is_at_rest([began - 10**9 + 1, began - 10**9], began)
    assert nothing_new._is_at_rest([began - 4 * 10**9, began - 4 * 10**9], began)


def test_what_changes_while_files_are_taken_in_is_not_kept(house):
    watch = nothing_new.watched(house, plugins(), "said")
    _rewrite(house.folder / "sale/1.csv")
    watch.keep({"sentences": [], "exit_code": 0})
    assert not known(house)


def test_a_refused_file_is_tried_again(house):
    put(house.folder, "sale/odd.csv", "a,b\n1,2\n")
    first = command("intake", house=house)
    assert first.code == 1
    assert command("intake", house=house) == first
    assert not known(house)


def test_a_database_is_asked_every_time(tmp_path, monkeypatch):
    import sqlite3

    with sqlite3.connect(tmp_path / "till.db") as con:
        con.execute("CREATE TABLE line (sold_at, till_item, quantity, net_amount)")
        con.execute("INSERT INTO line VALUES ('2026-03-02 20:00', 'Fig Sour', '1', '9')")
    monkeypatch.setenv("TILL", f"sqlite:///{tmp_path / 'till.db'}")
    query = '[[source]]\nname = "till"\nplugin = "till-export"\ndatabase = "TILL"\nquery = "SELECT * FROM line"\n'
    house = make_house(tmp_path / "house", HOUSE + query)
    command("intake", house=house)
    assert "nothing changed" in command("intake", house=house).out
    assert not known(house)
    with sqlite3.connect(tmp_path / "till.db") as con:
        con.execute("UPDATE line SET net_amount = '8'")
    assert "1 row landed" in command("intake", house=house).out


def test_nothing_is_said_while_another_process_holds_the_store(house):
    command("intake", house=house)
    assert known(house)
    with held(house.store_path):
        said = command("intake", house=house)
    assert (said.code, said.out) == (2, "")
    assert f"is in use by process {os.getpid()}" in said.err


@pytest.mark.parametrize("damage", [b"", b"[]", b'{"state": 1}', b"\xff"])
def test_what_is_kept_and_damaged_is_not_used(house, damage):
    said = command("intake", house=house)
    [file] = (house.folder / kept_answers.FOLDER).glob("*.intake")
    file.write_bytes(damage)
    assert command("intake", house=house) == said
    assert json.loads(file.read_bytes())["said"]["exit_code"] == 0


def test_what_is_known_is_said_without_a_heavy_import(house):
    said = command("intake", house=house)
    program = "import sys; from stillroom.cli import main; sys.exit(main())"
    words = [sys.executable, "-X", "importtime", "-c", program, "intake", "--house", str(house.folder)]
    again = subprocess.run(words, capture_output=True, text=True, check=True)
    assert again.stdout == said.out
    imported = {line.rsplit("|")[-1].strip() for line in again.stderr.splitlines()}
    assert "stillroom.intake.nothing_new" in imported
    assert not imported & {"polars", "duckdb", "pandera", "numpy", "stillroom.intake.run"}
