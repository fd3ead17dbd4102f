"""Killed, stopped, or out of disk in mid-file: the store opens with the state before, and the next run completes."""

from __future__ import annotations

import json
import os
import random
import signal
import subprocess

import pytest

from house_builder import ask, command, good, make_house, put, take_in
from killing import started, state, stopped_at_random
from stillroom.store import opening, working_copy
from stillroom_schemas import TABLES


@pytest.mark.parametrize(("how", "times"), [(signal.SIGKILL, 5), (signal.SIGINT, 3)])
def test_stopped_at_random_moments_the_store_is_as_before_or_as_after(tmp_path, how, times):
    stops = list(stopped_at_random(tmp_path / "house", how, times))
    assert len(stops) == times
    for stop in stops:
        # -SIGINT: Python was on its way out already, and no longer listened.
        assert stop.code in (-signal.SIGKILL, 130, 1, -signal.SIGINT)
        assert "Traceback" not in stop.err
        if stop.code == 130:
            assert stop.err.strip() == "Stopped. What had been finished stays; nothing was left half-written."
        if stop.code in (1, -signal.SIGINT):
            assert stop.done
    assert not all(stop.done for stop in stops)  # else no moment lay in mid-file, and this shows nothing


def test_a_second_intake_says_who_writes_and_who_reads_has_the_last_whole_state(tmp_path):
    house = make_house(tmp_path)
    put(tmp_path, "sale/a.csv", [good("sale")])
    take_in(house)
    put(tmp_path, "sale/b.csv", [good("sale", sold_at="2026-03-03 20:00")])
    with opening.writing(house, TABLES) as con:
        con.execute("INSERT INTO sale SELECT * FROM sale")  # half-way through an intake
        # The store is held between processes: the second must be another one.
        words = (("intake",), ("ledger", "--json"), ("report", "--format", "json", "season"), ("verify",))
        others = [started([*some, "--house", tmp_path]) for some in words]
        (_, err), (ledger, _), (report, _), (verified, _) = [process.communicate(timeout=120) for process in others]
        con.execute("DELETE FROM sale WHERE file = 'sale/a.csv' AND rowid > 0")
    assert err == (
        f"{house.store_path} is in use by process {os.getpid()}: wait until it has finished, then try again.\n"
    )
    assert [process.returncode for process in others] == [2, 0, 0, 0]
    assert [entry["file"] for entry in json.loads(ledger)] == ["sale/a.csv"]
    assert [one["name"] for one in json.loads(report)["reports"]] == ["season"]
    assert "every figure agrees" in verified
    assert command("intake", house=house).code == 0
    assert [entry["file"] for entry in command("ledger", "--json", house=house).json] == ["sale/a.csv", "sale/b.csv"]


def test_what_is_read_stays_whole_while_an_intake_puts_another_store_in_its_place(tmp_path):
    house = make_house(tmp_path)
    put(tmp_path, "sale/a.csv", [good("sale")])
    take_in(house)
    with opening.reading(house, TABLES) as con:
        put(tmp_path, "sale/b.csv", [good("sale", sold_at="2026-03-03 20:00")])
        assert command("intake", house=house).code == 0
        assert con.execute("SELECT count(*) FROM current_sale").fetchall() == [(1,)]
    assert len(ask(house, "SELECT * FROM current_sale")) == 2
    assert not (tmp_path / working_copy.FOLDER).exists()


def test_what_a_killed_intake_left_is_in_nobodys_way(tmp_path):
    house = make_house(tmp_path)
    put(tmp_path, "sale/a.csv", [good("sale")])
    left = tmp_path / working_copy.FOLDER
    (left / "stillroom.duckdb.tmp").mkdir(parents=True)
    (left / "stillroom.duckdb").write_bytes(b"half a store")
    (left / "stillroom.duckdb.wal").write_bytes(b"half a log")
    assert command("intake", house=house).code == 0
    assert not left.exists()
    assert command("verify", house=house).code == 0


def test_an_intake_with_nothing_new_leaves_the_store_the_file_it_is(tmp_path):
    """What is kept of answers goes by that."""
    house = make_house(tmp_path)
    put(tmp_path, "sale/a.csv", [good("sale")])
    take_in(house)
    before = house.store_path.stat()
    take_in(house)
    after = house.store_path.stat()
    assert (after.st_ino, after.st_mtime_ns) == (before.st_ino, before.st_mtime_ns)


@pytest.fixture
def small_disk(tmp_path):
    """A disk of a few megabytes."""
    if os.geteuid() != 0:
        pytest.skip("only root can mount a small disk")
    disk = tmp_path / "disk"
    disk.mkdir()
    mounted = subprocess.run(
        ["mount", "-t", "tmpfs", "-o", "size=15m", "tmpfs", str(disk)], capture_output=True, text=True, check=False
    )
    if mounted.returncode != 0:
        pytest.skip(f"no small disk can be mounted here ({mounted.stderr.strip()})")
    yield disk
    subprocess.run(["umount", str(disk)], check=True)


def test_a_full_disk_is_one_clear_line_and_the_store_is_as_before(small_disk, tmp_path):
    house = make_house(small_disk / "house")
    put(house.folder, "sale/a.csv", [good("sale")])
    take_in(house)
    before = state(house)
    rng = random.Random(1)
    rows = (f"2026-03-{rng.randint(5, 28):02} 20:00,{rng.random()},1,9,{rng.random()}" for _ in range(200_000))
    big = put(tmp_path, "big.csv", "\n".join(["sold_at,till_item,quantity,net_amount,check_id", *rows]))
    said = command("intake", big, house=house)
    assert said.code == 2
    # A file from outside is copied into the house first; the disk is full then, or when its rows are written.
    assert said.err in (
        f"{big}: cannot be copied into {house.folder / 'by-hand'} (No space left on device).\n",
        f"{house.store_path} cannot be written: the disk is full. It is as it was.\n",
    )
    assert state(house) == before
    assert not list((house.folder / "by-hand").glob("*.csv"))
