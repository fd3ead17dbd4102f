"""`stillroom verify`: a store that says what its files say agrees; whatever was changed behind its back is named."""

from __future__ import annotations

import errno
import os
import random
import signal
import tempfile
import time
from pathlib import Path

import duckdb
import pytest

from house_builder import HOUSE, command, copied, good, make_house, put, take_in
from killing import started
from stillroom.files import scratch_folder
from stillroom.house.house import House
from written import write_sqlite

SALES = [good("sale", sold_at=f"2026-03-0{day} 20:00", quantity=amount) for day, amount in ((2, 1), (3, 2), (4, "x"))]


@pytest.fixture(scope="module")
def taken_in(tmp_path_factory) -> House:
    made = make_house(tmp_path_factory.mktemp("verified") / "house")
    put(made.folder, "spec/spec.csv", [good("spec")])
    put(made.folder, "sale/a.csv", SALES)
    put(made.folder, "batch/batch.csv", [good("batch")])
    assert sum(one.rows_set_aside for one in take_in(made)) == 1
    return made


@pytest.fixture
def house(taken_in, tmp_path) -> House:
    return copied(taken_in, tmp_path / "house")


def changed(house: House, statement: str) -> None:
    with duckdb.connect(str(house.store_path)) as con:
        con.execute(statement)


def test_an_untouched_house_agrees_and_nothing_is_left_behind(house):
    before = sorted(house.folder.iterdir()), house.store_path.read_bytes()
    said = command("verify", house=house)
    assert (said.code, said.err) == (0, "")
    assert said.out == "3 files with 4 rows, read once more beside the store: every figure agrees.\n"
    assert (sorted(house.folder.iterdir()), house.store_path.read_bytes()) == before
    assert command("verify", "--json", house=house).json["agrees"] is True


def test_corrections_newer_files_and_undone_intakes_are_followed(house):
    out = house.folder / "corrections"
    assert command("aside", "--out", out, house=house).code == 0
    (corrected,) = out.glob("*.csv")
    corrected.write_text(corrected.read_text().replace(",x,", ",3,"))
    assert command("intake", corrected, house=house).code == 0
    put(house.folder, "sale/b.csv", [good("sale", sold_at="2026-03-03 21:00", quantity=9)])
    put(house.folder, "sale/c.csv", [good("sale", sold_at="2026-03-02 21:00", quantity=7)])
    assert command("intake", house=house).code == 0
    assert command("undo", 6, house=house).code == 0
    assert command("verify", house=house).code == 0


def test_corrections_of_a_file_that_was_read_anew_are_followed(house):
    put(house.folder, "spec_line/lines.csv", [good("spec_line", amount="lots"), good("spec_line", spec="Other")])
    assert command("intake", house=house).code == 1
    out = house.folder / "corrections"
    assert command("aside", "--out", out, house=house).code == 0
    (corrected,) = (path for path in out.glob("*.csv") if "lots" in path.read_text())
    corrected.write_text(corrected.read_text().replace("lots", "45"))
    assert "1 row landed in spec_line, 1 set aside, 1 corrected" in command("intake", corrected, house=house).out
    put(house.folder, "spec/more.csv", [good("spec", spec="Other")])
    said = command("intake", house=house)  # its partner is there: the file of lines is read anew
    assert "lines.csv: 2 rows landed in spec_line, 1 corrected by hand (intake 7)." in said.out
    assert (said.code, "0 set aside" in said.out) == (0, True)
    assert command("verify", house=house).out.endswith("every figure agrees.\n")


def test_a_batch_book_that_grows_and_a_correction_taken_in_twice_are_followed(house):
    put(house.folder, "batch_event/e.csv", [good("batch_event")])
    assert command("intake", house=house).code == 0
    put(house.folder, "batch/batch.csv", [good("batch"), good("batch", batch="FC-2")])  # over the edition it refers to
    put(house.folder, "sale/b.csv", [good("sale", quantity=word) for word in ("one", "two")])
    assert command("intake", house=house).code == 1
    out = house.folder / "corrections"
    assert command("aside", "--out", out, house=house).code == 0
    (path,) = (path for path in out.glob("*.csv") if "one" in path.read_text())
    for word, number in (("one", "1"), ("two", "2")):
        path.write_text(path.read_text().replace(f",{word},", f",{number},"))
        assert command("intake", path, house=house).code == (1 if word == "one" else 0)
    assert command("verify", house=house).out.endswith("every figure agrees.\n")
    put(house.folder, "sale/b.csv", [good("sale", sold_at="2026-03-02 20:00", quantity=3)])  # nothing left to correct
    assert command("intake", house=house).code == 0
    assert command("verify", house=house).out.endswith("every figure agrees.\n")


@pytest.mark.parametrize(
    ("statement", "said"),
    [
        (
            "UPDATE sale SET net_amount = 1000 WHERE row_number = 3",
            "1 row of this kind only the store has (sale/a.csv row 3): a till line.",
        ),
        (
            "DELETE FROM batch",
            "intake 3 (batch/batch.csv): 1 row was taken in, the store holds 0 of them.",
        ),
        ("UPDATE intake SET rows_landed = 3, rows_set_aside = 0 WHERE file = 'sale/a.csv'", "3 rows were taken in"),
        ("DELETE FROM standing WHERE table_name = 'sale'", "2 rows of this kind only the files have"),
        ("DELETE FROM till_day", "business day x till spelling: the store has 0 of them, the files give 2."),
        (
            "UPDATE till_day SET net_amount = 1000 WHERE business_date = '2026-03-03'",
            "in service on that day: the files give as many (2), with other figures in net_amount.",
        ),
        (
            "UPDATE till_day SET quantity = 3 - quantity",
            "till spelling: the files give as many (2), with the same figures beside one another otherwise.",
        ),
        ("DELETE FROM set_aside", "1 row of this kind only the files have (sale/a.csv row 4): a row set aside."),
    ],
)
def test_what_was_changed_in_the_store_is_named(house, statement, said):
    changed(house, statement)
    told = command("verify", house=house)
    assert told.code == 1
    assert said in told.out


def test_a_file_that_is_gone_or_changed_is_named(house):
    (house.folder / "spec" / "spec.csv").unlink()
    put(house.folder, "sale/a.csv", SALES[:1])
    told = command("verify", house=house)
    assert told.code == 1
    assert (
        "spec/spec.csv: is gone since intake 1 took it in: put it back, or say that it is gone for good: " in told.out
    )
    assert "sale/a.csv: has changed since intake" in told.out


def test_rows_that_outlive_their_file_are_named(house):
    put(house.folder, "sale/a.csv", [good("sale", sold_at="2026-03-03 20:00", quantity=9)])
    assert command("intake", house=house).code == 0
    told = command("verify", house=house)
    assert told.code == 1
    assert "sale/a.csv: 2 rows of intake" in told.out
    assert "keep each export under a name of its own" in told.out


def test_a_query_is_asked_again(tmp_path, monkeypatch):
    house = make_house(
        tmp_path / "house",
        settings=HOUSE + '[[source]]\nname = "till"\nplugin = "till-export"\ndatabase = "TILL"\n'
        'query = "SELECT sold_at, till_item, quantity, net_amount FROM sold"\n',
    )
    path = tmp_path / "till.db"
    write_sqlite(path, [good("sale")])
    monkeypatch.setenv("TILL", f"sqlite:///{path}")
    assert command("intake", house=house).code == 0
    assert command("verify", house=house).code == 0
    path.unlink()
    write_sqlite(path, [good("sale", quantity=2)])
    told = command("verify", house=house)
    assert told.code == 1
    assert "till (query): has changed since intake 1 took it in" in told.out


def test_stopped_or_killed_it_leaves_nothing_behind(house, tmp_path, monkeypatch):
    rows = (f"2026-03-05 20:{n % 60:02},Fig Sour,1,9" for n in range(100_000))
    put(house.folder, "sale/big.csv", "\n".join(["sold_at,till_item,quantity,net_amount", *rows]))
    assert command("intake", house=house).code == 0
    before = sorted(house.folder.iterdir()), house.store_path.read_bytes()
    scratch = tmp_path / "scratch"
    scratch.mkdir()
    monkeypatch.setenv("TMPDIR", str(scratch))
    monkeypatch.setattr(tempfile, "tempdir", None)
    for how in (signal.SIGINT, signal.SIGKILL):
        process = started(["verify", "--house", house.folder])
        while not [*scratch.glob("*/.stillroom-writing/stillroom.duckdb")]:  # the second store has not been begun
            assert process.poll() is None
            time.sleep(0.01)
        process.send_signal(how)
        _, err = process.communicate(timeout=60)
        if how == signal.SIGINT:
            assert process.returncode == 130
            assert err == "Stopped. What had been finished stays; nothing was left half-written.\n"
            assert not [*scratch.iterdir()]
        assert (sorted(house.folder.iterdir()), house.store_path.read_bytes()) == before
    with scratch_folder() as folder:  # what a killed one left goes with the next
        assert [*scratch.iterdir()] == [folder]
        with scratch_folder() as other:
            assert {*scratch.iterdir()} == {folder, other}


def test_a_house_that_cannot_be_written_to_is_verified(house, monkeypatch):
    def refuse(path: Path, *rest: object, **more: object) -> None:
        if Path(path).is_relative_to(house.folder):
            raise OSError(errno.EROFS, os.strerror(errno.EROFS))
        made(path, *rest, **more)  # type: ignore[arg-type]

    made = os.mkdir
    monkeypatch.setattr(os, "mkdir", refuse)
    assert command("verify", house=house).code == 0


@pytest.mark.parametrize("seed", range(3))
def test_a_store_with_a_flipped_bit_is_said_to_be_damaged(house, seed):
    whole, rng = house.store_path.read_bytes(), random.Random(seed)
    told = []
    for _ in range(8):
        content = bytearray(whole)
        content[rng.randrange(len(content))] ^= 1 << rng.randrange(8)
        house.store_path.write_bytes(content)
        told.append(command("ledger", house=house))
        told.append(command("aside", house=house))
    assert not [said for said in told if "fault in Stillroom" in said.err]
    damaged = [said for said in told if said.code]
    assert damaged  # in some the bit is one that is not looked at
    assert all("The source files are the truth" in said.err for said in damaged)
    house.store_path.write_bytes(whole)
    assert command("ledger", house=house).code == 0


def test_without_a_store_it_cannot_be_done(tmp_path):
    told = command("verify", house=make_house(tmp_path))
    assert (told.code, told.out) == (2, "")
    assert "has no store yet" in told.err


def test_a_file_whose_plugin_is_missing_is_not_said_to_be_gone(house):
    settings = house.folder / "stillroom.toml"
    settings.write_text(settings.read_text().replace('plugin = "batch-book"', 'plugin = "absent"'))
    said = command("verify", house=house)
    assert said.code == 1
    assert "It cannot be taken in again: Source 'batch' wants a plugin 'absent'" in " ".join(said.out.split())
    assert "is gone" not in said.out
