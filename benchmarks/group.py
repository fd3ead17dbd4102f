"""Takes groups of invented houses in on Spark: what a house costs as there are more of them, and on more processors.

Run as `python -m benchmarks.group [--houses 20 200 2000] [--large 1000]`. A house is the demo's with a seed of its own
and three weeks of sales; a large one has a million till lines. The tables are written to docs/benchmarks.md, those of
which no number of houses is given stay as they are.
"""

from __future__ import annotations

import argparse
import json
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path
from typing import Any

from benchmarks.large_houses import LINES, write_large_houses
from benchmarks.measuring import keep
from stillroom.demo import write_demo

WEEKS = 3
HEADINGS = (
    "| houses | processors | wall, s | wall a house, s | processor time a house, s | driver, MB | its Java, MB |",
    "|---|---|---|---|---|---|---|",
)


def write_houses(folder: Path, count: int) -> None:
    """Small houses; those that are there already stay."""
    for number in range(count):
        house = folder / "houses" / f"house-{number:05d}"
        if not house.exists():
            write_demo(house, seed=number)
            for file in sorted((house / "till").glob("*.csv"))[WEEKS:]:
                file.unlink()


def run(folder: Path, houses: int, processors: int) -> dict[str, Any]:
    """Take so many of the folder's houses in, on so many processors, from nothing."""
    at = json.dumps([str(folder / "houses" / f"house-{number:05d}") for number in range(houses)])
    group = folder / "group"
    shutil.rmtree(group, ignore_errors=True)
    group.mkdir()
    text = f'[group]\nname = "Bench"\nspark = "local[{processors}]"\n[houses]\nat = {at}\n'
    (group / "group.toml").write_text(text, encoding="utf-8")
    command = [sys.executable, "-m", "benchmarks.group_run", str(group), str(houses)]
    done = subprocess.run(command, capture_output=True, text=True, check=False, cwd=Path(__file__).parent.parent)
    if done.returncode != 0:
        raise SystemExit(f"{command}: exit {done.returncode}: {done.stderr}")
    return dict(json.loads(done.stdout.splitlines()[-1])) | {"processors": processors}


def line(told: dict[str, Any]) -> str:
    return (
        f"| {told['houses']:,} | {told['processors']} | {told['seconds']:,.0f} | {told['seconds_a_house']:.2f} | "
        f"{told['processor_a_house']:.2f} | {told['driver_mb']:,.0f} | {told['jvm_mb']:,.0f} |"
    )


def measure_small(folder: Path, houses: list[int]) -> None:
    """Groups of more and more small houses, on two processors; the smallest on one, too."""
    write_houses(folder, max(houses))
    alone = run(folder, houses[0], 1)
    told = [run(folder, count, 2) for count in houses]
    keep("group", [
        f"Houses of {WEEKS} weeks of sales; facts from nothing.",
        "",
        *HEADINGS,
        *map(line, (alone, *told)),
        "",
        f"On two processors {alone['seconds_a_house'] / told[0]['seconds_a_house']:.2f} times as fast as on one.",
        "",
        *asked(told),
    ])  # fmt: skip


def measure_large(folder: Path, houses: int) -> None:
    """A group of houses of a million till lines each."""
    write_large_houses(folder / "houses", houses)
    told = run(folder, houses, 2)
    keep("large houses", [
        f"Houses of {LINES:,} till lines (Parquet, nearer to life as above); facts from nothing.",
        "",
        *HEADINGS,
        line(told),
        "",
        *asked([told]),
    ])  # fmt: skip


def asked(told: list[dict[str, Any]]) -> list[str]:
    """How long the one question takes, asked of either engine."""
    return [
        "The same statement on the facts of all houses, sales by drink and week, median of three:",
        "",
        "| houses | Spark, s | DuckDB alone, s |",
        "|---|---|---|",
        *(f"| {one['houses']:,} | {one['asking']['spark']:.2f} | {one['asking']['duckdb']:.2f} |" for one in told),
    ]


def main() -> None:
    """Measure, print, and keep the tables."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--houses", type=int, nargs="*", default=[20, 200, 2000])
    parser.add_argument("--large", type=int, default=1000)
    given = parser.parse_args()
    if given.houses:
        with tempfile.TemporaryDirectory() as name:
            measure_small(Path(name), given.houses)
    if given.large:
        with tempfile.TemporaryDirectory() as name:
            measure_large(Path(name), given.large)


if __name__ == "__main__":
    main()
