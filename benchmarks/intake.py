"""Takes a large till export in, beside DuckDB reading the same file without checks, and pandas doing the same work.

Run as `python -m benchmarks.intake [--rows N]`. Every way runs as a whole process of its own, in turn, several times;
what counts is the median of the ratios of neighbouring runs, since a machine's speed drifts. The table is written to
docs/benchmarks.md with the machine it was measured on.
"""

from __future__ import annotations

import argparse
import os
import platform
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Sequence
from dataclasses import dataclass
from importlib.metadata import version
from pathlib import Path

from benchmarks.till_lines import write_till_lines

SETTINGS = '[house]\nname = "Bench"\ncurrency = "EUR"\n'
PAGE = Path(__file__).parent.parent / "docs" / "benchmarks.md"
PANDAS_SHARE = 10  # pandas is given a tenth of the rows: it would take minutes otherwise


@dataclass(frozen=True)
class Run:
    """One whole process."""

    seconds: float
    peak_mb: float


def measured(command: Sequence[str], folder: Path) -> Run:
    """Run a command to its end: wall seconds, and the largest resident memory of the process."""
    began = time.perf_counter()
    process = subprocess.Popen(command, cwd=folder, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE)
    assert process.stderr is not None
    said = process.stderr.read()
    _, status, usage = os.wait4(process.pid, 0)
    process.returncode = os.waitstatus_to_exitcode(status)
    if process.returncode not in (0, 1):  # 1: rows were set aside, as they must be
        raise SystemExit(f"{command}: exit {process.returncode}: {said.decode()}")
    return Run(time.perf_counter() - began, usage.ru_maxrss / 1024)


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
        whole, part = folder / "till.csv", folder / "part.csv"
        write_till_lines(whole, rows)
        write_till_lines(part, rows // PANDAS_SHARE)
        ours, theirs, review, small, pandas = [], [], [], [], []
        for _ in range(rounds):
            ours.append(stillroom_intake(whole, folder))
            review.append(season_review(folder))
            theirs.append(plain("benchmarks.plain_duckdb", whole, folder))
        for _ in range(rounds):
            small.append(stillroom_intake(part, folder))
            pandas.append(plain("benchmarks.pandas_pandera", part, folder))
        size = whole.stat().st_size / 1e6
    return [
        f"{rows:,} till lines, {size:,.0f} MB, one bad row in a thousand; {rounds} rounds, medians.",
        "",
        "| way | rows | wall, s | peak memory, MB | ratio of wall times, ours to theirs |",
        "|---|---|---|---|---|",
        _line("stillroom intake: every row checked, bad rows set aside", rows, ours, None),
        _line("DuckDB read_csv into a table, no checks", rows, theirs, _ratio(ours, theirs)),
        _line("stillroom intake", rows // PANDAS_SHARE, small, None),
        _line("pandas and pandera, the same checks, into DuckDB", rows // PANDAS_SHARE, pandas, _ratio(small, pandas)),
        _line("stillroom report season, after the first intake", rows, review, None),
    ]


def _ratio(ours: list[Run], theirs: list[Run]) -> float:
    return statistics.median(a.seconds / b.seconds for a, b in zip(ours, theirs, strict=True))


def _line(label: str, rows: int, runs: list[Run], ratio: float | None) -> str:
    seconds = statistics.median(run.seconds for run in runs)
    peak = max(run.peak_mb for run in runs)
    shown = "" if ratio is None else f"{ratio:.2f}"
    return f"| {label} | {rows:,} | {seconds:.1f} | {peak:,.0f} | {shown} |"


def machine() -> str:
    """What it was measured on."""
    names = ("polars", "duckdb", "pandera", "pandas")
    versions = ", ".join(f"{name} {version(name)}" for name in names)
    return f"{os.cpu_count()} cores ({platform.machine()}), Python {platform.python_version()}, {versions}."


def main() -> None:
    """Measure, print, and keep the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rows", type=int, default=10_000_000)
    parser.add_argument("--rounds", type=int, default=3)
    given = parser.parse_args()
    lines = compare(given.rows, given.rounds)
    text = "\n".join([BEGIN, "", machine(), "", *lines, "", END])
    print(text)
    before, _, rest = PAGE.read_text(encoding="utf-8").partition(BEGIN)
    PAGE.write_text(before + text + rest.partition(END)[2], encoding="utf-8")


BEGIN = "<!-- measured: begin -->"
END = "<!-- measured: end -->"

if __name__ == "__main__":
    main()
