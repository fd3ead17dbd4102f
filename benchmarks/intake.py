"""Takes large till exports in, beside DuckDB without checks, DuckDB with the same ones, and pandas with the same work.

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
from benchmarks.till_lines import write_lines_nearer_to_life, write_till_lines

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
    """The lines of the tables: of a clean file, and of one nearer to life."""
    lines = []
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        for words, write in (
            ("clean, one bad row in a thousand", write_till_lines),
            (
                "nearer to life: no line identities, quotes in 13 % of lines, accents in 8 %, one cell of blanks "
                "and seven bad rows in 10,000 lines",
                write_lines_nearer_to_life,
            ),
        ):
            file = folder / "till.csv"
            write(file, rows)
            size = file.stat().st_size / 1e6
            lines += [f"{rows:,} till lines, {size:,.0f} MB, {words}; medians, rounds: {rounds}.", ""]
            lines += [*_table(file, folder, rows, rounds, with_pandas=write is write_till_lines), ""]
    return lines[:-1]


def _table(file: Path, folder: Path, rows: int, rounds: int, *, with_pandas: bool) -> list[str]:
    ours, theirs, checked, review, pandas = [], [], [], [], []
    for _ in range(rounds):
        ours.append(stillroom_intake(file, folder))
        review.append(season_review(folder))
        theirs.append(plain("benchmarks.plain_duckdb", file, folder))
        checked.append(plain("benchmarks.checked_duckdb", file, folder))
        if with_pandas:
            pandas.append(plain("benchmarks.pandas_pandera", file, folder))
    lines = [
        "| way | rows | wall, s | processor, s | peak memory, MB | ratio of wall times, ours to theirs |",
        "|---|---|---|---|---|---|",
        line("stillroom intake: every row checked, bad rows set aside", rows, ours),
        line("DuckDB read_csv into a table, no checks", rows, theirs, ratio(ours, theirs)),
        line("DuckDB alone, the same checks in SQL", rows, checked, ratio(ours, checked)),
    ]
    if with_pandas:
        lines.append(line("pandas and pandera, the same work, into DuckDB", rows, pandas, ratio(ours, pandas)))
    return [*lines, line("stillroom report season, after the intake", rows, review)]


def main() -> None:
    """Measure, print, and keep the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rows", type=int, default=10_000_000)
    parser.add_argument("--rounds", type=int, default=3)
    given = parser.parse_args()
    keep("intake", compare(given.rows, given.rounds))


if __name__ == "__main__":
    main()
