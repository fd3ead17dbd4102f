"""Takes a large till export in, beside DuckDB reading the same file without checks, and pandas doing the same work.

Run as `python -m benchmarks.intake [--rows N]`. Every way runs as a whole process of its own, in turn, several times.
The table is written to docs/benchmarks.md.
"""

from __future__ import annotations

import argparse
import shutil
import sys
import tempfile
from pathlib import Path

from benchmarks.measuring import Run, keep, line, measured, ratio
from benchmarks.till_lines import write_till_lines

SETTINGS = '[house]\nname = "Bench"\ncurrency = "EUR"\n'


def stillroom_intake(file: Path, folder: Path) -> Run:
    """Our own intake of the file into an empty house."""
    house = folder / "house"
    shutil.rmtree(house, ignore_errors=True)
    house.mkdir()
    (house / "stillroom.toml").write_text(SETTINGS)
    return measured([sys.executable, "-m", "stillroom", "intake", str(file), "--house", str(house)], folder)


def season_review(folder: Path) -> Run:
    """The season report over what was taken in last."""
    command = [sys.executable, "-m", "stillroom", "report", "season", "--house", str(folder / "house")]
    return measured(command, folder)


def plain(module: str, file: Path, folder: Path) -> Run:
    """One of the other ways, a module of this package."""
    target = folder / "plain.duckdb"
    target.unlink(missing_ok=True)
    run = measured([sys.executable, "-m", module, str(file), str(target)], Path(__file__).parent.parent)
    target.unlink(missing_ok=True)
    return run


def compare(rows: int, rounds: int) -> list[str]:
    """The lines of the table."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        file = folder / "till.csv"
        write_till_lines(file, rows)
        ours, theirs, review, pandas = [], [], [], []
        for _ in range(rounds):
            ours.append(stillroom_intake(file, folder))
            review.append(season_review(folder))
            theirs.append(plain("benchmarks.plain_duckdb", file, folder))
            pandas.append(plain("benchmarks.pandas_pandera", file, folder))
        size = file.stat().st_size / 1e6
    return [
        f"{rows:,} till lines, {size:,.0f} MB, one bad row in a thousand; {rounds} rounds, medians.",
        "",
        "| way | rows | wall, s | peak memory, MB | ratio of wall times, ours to theirs |",
        "|---|---|---|---|---|",
        line("stillroom intake: every row checked, bad rows set aside", rows, ours),
        line("DuckDB read_csv into a table, no checks", rows, theirs, ratio(ours, theirs)),
        line("pandas and pandera, the same work, into DuckDB", rows, pandas, ratio(ours, pandas)),
        line("stillroom report season, after the intake", rows, review),
    ]


def main() -> None:
    """Measure, print, and keep the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rows", type=int, default=10_000_000)
    parser.add_argument("--rounds", type=int, default=3)
    given = parser.parse_args()
    keep("intake", compare(given.rows, given.rounds))


if __name__ == "__main__":
    main()
