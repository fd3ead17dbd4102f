"""The yardstick: DuckDB's own reader into a table, with its rejects kept, and no checks."""

from __future__ import annotations

import sys
from pathlib import Path

import duckdb

TYPES = {"sold_at": "TIMESTAMP", "quantity": "DECIMAL(18, 4)", "net_amount": "DECIMAL(18, 4)"}


def headings(file: str) -> list[str]:
    """The headings of a till export of ours."""
    with Path(file).open(encoding="utf-8") as lines:
        return lines.readline().strip().split(",")


def main(file: str, target: str) -> None:
    columns = {name: TYPES.get(name, "VARCHAR") for name in headings(file)}
    with duckdb.connect(target) as con:
        con.execute(
            f"CREATE TABLE sale AS SELECT * FROM read_csv(?, header = true, store_rejects = true, columns = {columns})",
            [file],
        )


if __name__ == "__main__":
    main(*sys.argv[1:])
