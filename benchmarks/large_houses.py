"""Writes houses of a million till lines each, for groups that are measured by their lines.

The lines lie in Parquet files, so that a thousand houses and what the group keeps of them fit a disk. Twenty files
are different; of more houses, each twentieth has the same.
"""

from __future__ import annotations

import csv
import os
import tempfile
from pathlib import Path

import duckdb

from benchmarks.till_lines import ITEMS, write_lines_nearer_to_life

LINES = 1_000_000
DIFFERENT = 20

_SETTINGS = """[house]
name = "House {number}"
currency = "EUR"
[[source]]
name = "specs"
plugin = "spec-book"
files = ["specs.csv"]
table = "spec"
[[source]]
name = "till"
plugin = "till-export"
files = ["till.parquet"]
"""


def write_large_houses(folder: Path, count: int) -> None:
    """Write `folder`/house-00000 and so on."""
    for number in range(count):
        house = folder / f"house-{number:05d}"
        house.mkdir(parents=True)
        (house / "stillroom.toml").write_text(_SETTINGS.format(number=number), encoding="utf-8")
        _write_specs(house / "specs.csv")
        if number < DIFFERENT:
            _write_lines(house / "till.parquet", seed=number)
        else:
            os.link(folder / f"house-{number % DIFFERENT:05d}" / "till.parquet", house / "till.parquet")


def _write_specs(path: Path) -> None:
    """A spec for each thing that is sold, so that its lines count."""
    with path.open("w", encoding="utf-8", newline="") as file:
        book = csv.writer(file)
        book.writerow(("spec", "version", "kind", "yield_amount", "yield_unit", "price", "in_service_from"))
        book.writerows((f"Drink {item}", 1, "drink", 1, "serve", 12, "2024-12-01") for item in range(ITEMS))


def _write_lines(path: Path, seed: int) -> None:
    with tempfile.TemporaryDirectory() as name, duckdb.connect() as con:
        lines = Path(name) / "till.csv"
        write_lines_nearer_to_life(lines, LINES, seed)
        con.execute(f"COPY (FROM read_csv('{lines}', all_varchar = true)) TO '{path}' (COMPRESSION zstd)")
