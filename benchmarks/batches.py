"""Works out what became of every batch of a house of a hundred venues, over three years.

Run as `python -m benchmarks.batches [--venues N]`; the table is written to docs/benchmarks.md. One run works the use of
all batches out anew and reads every fate, in a process of its own.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
from pathlib import Path

from benchmarks.many_batches import house_in, write_store
from benchmarks.measuring import keep, line, measured
from stillroom.store import opening, worked_out
from stillroom_schemas import TABLES

PREPARATIONS = 50
DAYS = 3 * 365


def work_out(folder: Path, venues: int) -> None:
    """The fates, from the rows of the store."""
    house = house_in(folder, venues)
    with opening.writing(house, TABLES) as con:
        con.execute("DELETE FROM batch_use")
        worked_out.batch_use(con)
    with opening.reading(house, TABLES) as con:
        con.execute(
            "SELECT preparation, sum(used), sum(unexplained), sum(cost_lost) FROM batch_fate GROUP BY 1"
        ).fetchall()


def compare(venues: int, rounds: int) -> list[str]:
    """The lines of the table."""
    with tempfile.TemporaryDirectory() as name:
        batches = write_store(house_in(Path(name), venues), PREPARATIONS, DAYS)
        command = [sys.executable, "-m", "benchmarks.batches", "--venues", str(venues), "--work-out", name]
        runs = [measured(command, Path(__file__).parent.parent) for _ in range(rounds)]
    return [
        f"{venues:,} venues, {PREPARATIONS} preparations, three years of sales; {rounds} rounds, medians.",
        "",
        "| way | batches | wall, s | processor, s | peak memory, MB | |",
        "|---|---|---|---|---|---|",
        line("every batch's use worked out anew, and its fate read", batches, runs),
    ]


def main() -> None:
    """Measure, print, and keep the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--venues", type=int, default=100)
    parser.add_argument("--rounds", type=int, default=3)
    parser.add_argument("--work-out", type=Path, help=argparse.SUPPRESS)  # one run, in a process of its own
    given = parser.parse_args()
    if given.work_out:
        work_out(given.work_out, given.venues)
    else:
        keep("batches", compare(given.venues, given.rounds))


if __name__ == "__main__":
    main()
