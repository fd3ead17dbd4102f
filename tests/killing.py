"""Intakes stopped at random moments: the store is as before or as after, and the next run completes.

`python tests/killing.py 200` kills two hundred of them; the tests stop a few.
"""

from __future__ import annotations

import random
import signal
import subprocess
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from house_builder import ask, books, command, good, make_house, put, take_in
from stillroom.house.house import House

LINES = 30_000
PROGRAM = """\
import duckdb, stillroom_schemas.fields
from stillroom.cli import main
print("ready", flush=True); input(); main()
"""


@dataclass(frozen=True)
class Stopped:
    """What an intake that was stopped said, and its exit code."""

    code: int
    err: str
    done: bool
    """It had finished: the store is as after an undisturbed run."""


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
    """A till export that takes a while."""
    head = "sold_at,till_item,quantity,net_amount\n"
    lines = (f"2026-03-{day:02} 20:{n % 60:02},Fig Sour,{'x' if n % 1000 == 7 else 1},9\n" for n in range(LINES))
    put(house.folder, f"sale/{name}.csv", head + "".join(lines))


def state(house: House) -> tuple[object, ...]:
    """All that a figure could rest on."""
    return (
        ask(house, "SELECT file, count(*), sum(net_amount) FROM current_sale GROUP BY ALL ORDER BY ALL"),
        ask(house, "SELECT file, count(*) FROM set_aside GROUP BY ALL ORDER BY ALL"),
        ask(house, "SELECT * FROM daily_serves ORDER BY ALL"),
        [(e.file, e.rows_read, e.rows_landed, e.rows_set_aside) for e in books(house)],
    )


def half_taken_in(folder: Path) -> House:
    """A house with one big file in its store, and another that waits."""
    house = make_house(folder)
    put(house.folder, "spec/spec.csv", [good("spec")])
    big_file(house, "a", 2)
    take_in(house)
    big_file(house, "b", 3)
    return house


def stopped_at_random(folder: Path, how: signal.Signals, times: int) -> Iterator[Stopped]:
    """Stop the intake of the second file that often, each time from the same store; then let one complete.

    Raises:
        AssertionError: a store was neither as before nor as after, or the last run did not complete.
    """
    house = half_taken_in(folder)
    store = house.store_path.read_bytes()
    before = state(house)
    began = time.monotonic()
    command("intake", house=house)
    takes, after = time.monotonic() - began, state(house)
    assert before != after
    rng = random.Random(how)
    for _ in range(times):
        house.store_path.write_bytes(store)
        house.store_path.with_name(house.store_path.name + ".wal").unlink(missing_ok=True)
        process = started(["intake", "--house", house.folder])
        time.sleep(rng.random() * takes)
        process.send_signal(how)
        _, err = process.communicate(timeout=60)
        found = state(house)
        assert found in (before, after)
        yield Stopped(process.returncode, err, done=found == after)
    assert command("intake", house=house).code in (0, 1)
    assert state(house) == after


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as scratch:
        ended = Counter(
            "killed and done" if stop.done and stop.code < 0 else "killed" if stop.code < 0 else "done before the kill"
            for stop in stopped_at_random(Path(scratch) / "house", signal.SIGKILL, int(sys.argv[1]))
        )
    print(dict(ended))
