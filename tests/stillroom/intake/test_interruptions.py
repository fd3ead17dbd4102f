"""Killed, stopped, or out of disk in mid-file: the store opens with the state before, and the next run completes."""

from __future__ import annotations

import os
import random
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from house_builder import ask, books, command, good, make_house, put, take_in
from stillroom.house import House
from stillroom.store import opening
from stillroom_schemas import TABLES

LINES = 30_000
PROGRAM = "import pandera.polars, duckdb; from stillroom.cli import main; print('ready', flush=True); input(); main()"


def started(words: list[object]) -> subprocess.Popen[str]:
    """A command in another process, at the moment at which it begins to work."""
    process = subprocess.Popen(
        [sys.executable, "-c", PROGRAM, *map(str, words)],
        stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
    )  # fmt: skip
    assert process.stdout is not None
    assert process.stdin is not None
    assert process.stdout.readline() == "ready\n"
    process.stdin.write("\n")
    process.stdin.flush()
    return process


def big_file(house: House, name: str, day: int) -> None:
    head = "sold_at,till_item,quantity,net_amount\n"
    lines = (f"2026-03-{day:02} 20:{n % 60:02},Fig Sour,{'x' if n % 1000 == 7 else 1},9\n" for n in range(LINES))
    put(house.folder, f"sale/{name}.csv", head + "".join(lines))


def state(house: House) -> tuple[object, ...]:
    """All that a figure could rest on."""
    return (
        ask(house, "SELECT file, count(*), sum(net_amount), count(superseded_by) FROM sale GROUP BY ALL ORDER BY ALL"),
        ask(house, "SELECT file, count(*) FROM set_aside GROUP BY ALL ORDER BY ALL"),
        ask(house, "SELECT * FROM daily_serves ORDER BY ALL"),
        [(e.file, e.rows_read, e.rows_landed, e.rows_set_aside) for e in books(house)],
    )


@pytest.fixture(scope="module")
def undisturbed(tmp_path_factory) -> tuple[tuple[object, ...], tuple[object, ...], float]:
    """The state with the first file, the state with both, and how long the second takes to be taken in."""
    house = make_house(tmp_path_factory.mktemp("undisturbed"))
    put(house.folder, "spec/spec.csv", [good("spec")])
    big_file(house, "a", 2)
    take_in(house)
    before = state(house)
    big_file(house, "b", 3)
    began = time.monotonic()
    command("intake", house=house)
    return before, state(house), time.monotonic() - began


def half_taken_in(tmp_path: Path) -> House:
    house = make_house(tmp_path)
    put(house.folder, "spec/spec.csv", [good("spec")])
    big_file(house, "a", 2)
    take_in(house)
    big_file(house, "b", 3)
    return house


@pytest.mark.parametrize(("how", "times"), [(signal.SIGKILL, 10), (signal.SIGINT, 5)])
def test_stopped_at_random_moments_the_store_is_as_before_or_as_after(tmp_path, undisturbed, how, times):
    before, after, takes = undisturbed
    assert before != after
    rng = random.Random(how)
    house = half_taken_in(tmp_path / "house")
    store = house.store_path.read_bytes()
    codes = []
    for _ in range(times):
        house.store_path.write_bytes(store)
        house.store_path.with_name(house.store_path.name + ".wal").unlink(missing_ok=True)
        process = started(["intake", "--house", house.folder])
        time.sleep(rng.random() * takes)
        process.send_signal(how)
        _, err = process.communicate(timeout=60)
        codes.append(process.returncode)
        # -SIGINT: Python was on its way out already, and no longer listened.
        assert process.returncode in (-signal.SIGKILL, 130, 1, -signal.SIGINT)
        assert "Traceback" not in err
        assert state(house) in (before, after)
        if process.returncode == 130:
            assert err.strip() == "Stopped. What had been finished stays; nothing was left half-written."
        if process.returncode in (1, -signal.SIGINT):
            assert state(house) == after
    assert codes.count(1) < times  # else no moment lay in mid-file, and this shows nothing
    assert command("intake", house=house).code in (0, 1)
    assert state(house) == after


def test_a_second_intake_says_who_holds_the_store(tmp_path):
    house = make_house(tmp_path)
    put(tmp_path, "sale/a.csv", [good("sale")])
    with opening.writing(house, TABLES):
        # The store's lock is between processes: the second must be another one.
        both = [started([word, "--house", tmp_path]) for word in ("intake", "report")]
        said = [process.communicate(timeout=60) for process in both]
    for process, (out, err) in zip(both, said, strict=True):
        assert process.returncode == 2
        assert out == ""
        assert err == (
            f"{house.store_path} is in use by process {os.getpid()}: wait until it has finished, then try again.\n"
        )
    assert command("intake", house=house).code == 0


@pytest.fixture
def small_disk(tmp_path):
    """A disk of a few megabytes."""
    if os.geteuid() != 0:
        pytest.skip("only root can mount a small disk")
    disk = tmp_path / "disk"
    disk.mkdir()
    mounted = subprocess.run(
        ["mount", "-t", "tmpfs", "-o", "size=6m", "tmpfs", str(disk)], capture_output=True, text=True, check=False
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
    assert said.err == f"{house.store_path} cannot be written: the disk is full. What had landed stays.\n"
    assert state(house) == before
