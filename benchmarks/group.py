"""Takes groups of invented houses in on Spark: what a house costs as there are more of them, and on more processors.

Run as `python -m benchmarks.group [--houses 20 200 2000]`. A house is the demo's with a seed of its own and three weeks
of sales. The tables are written to docs/benchmarks.md.
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
    """Take so many of the houses in, on so many processors, from nothing."""
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


def main() -> None:
    """Measure, print, and keep the tables."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--houses", type=int, nargs="+", default=[20, 200, 2000])
    given = parser.parse_args()
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        write_houses(folder, max(given.houses))
        alone = run(folder, given.houses[0], 1)
        told = [run(folder, houses, 2) for houses in given.houses]
    asked = [f"| {one['houses']:,} | {one['asking']['spark']:.2f} | {one['asking']['duckdb']:.2f} |" for one in told]
    keep("group", [
        f"Houses of {WEEKS} weeks of sales; facts from nothing.",
        "",
        *HEADINGS,
        *map(line, (alone, *told)),
        "",
        f"On two processors {alone['seconds_a_house'] / told[0]['seconds_a_house']:.2f} times as fast as on one.",
        "",
        "The same statement on the facts of all houses, sales by drink and week, median of three:",
        "",
        "| houses | Spark, s | DuckDB alone, s |",
        "|---|---|---|",
        *asked,
    ])  # fmt: skip


if __name__ == "__main__":
    main()
