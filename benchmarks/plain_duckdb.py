"""The yardstick: DuckDB's own reader into a table, with its rejects kept, and no checks."""

from __future__ import annotations

import sys

import duckdb

COLUMNS = {
    "sold_at": "TIMESTAMP",
    "venue": "VARCHAR",
    "till_item": "VARCHAR",
    "quantity": "DECIMAL(18, 4)",
    "net_amount": "DECIMAL(18, 4)",
    "check_id": "VARCHAR",
    "line_id": "VARCHAR",
}


def main(file: str, target: str) -> None:
    with duckdb.connect(target) as con:
        con.execute(
            f"CREATE TABLE sale AS SELECT * FROM read_csv(?, header = true, store_rejects = true, columns = {COLUMNS})",
            [file],
        )


if __name__ == "__main__":
    main(*sys.argv[1:])
