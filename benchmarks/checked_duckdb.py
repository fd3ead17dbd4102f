"""DuckDB alone with the same checks, in SQL: good rows typed in one table, bad ones with their reasons in another.

Cells are read as text, trimmed and folded; what cannot be cast, is missing or breaks a limit of the table `sale` is
told cell by cell, with the row's number and its text. The file is hashed, too; repeated identities are not looked for.
"""

from __future__ import annotations

import hashlib
import sys

import duckdb

from benchmarks.plain_duckdb import TYPES, headings

TIDY = "nullif(CASE WHEN contains({0}, '  ') THEN regexp_replace(trim({0}), '\\s+', ' ', 'g') ELSE trim({0}) END, '')"
REASONS = {
    "sold_at is missing": "sold_at_text IS NULL",
    "sold_at cannot be read": "sold_at IS NULL AND sold_at_text IS NOT NULL",
    "till_item is missing": "till_item IS NULL",
    "quantity is missing": "quantity_text IS NULL",
    "quantity cannot be read": "quantity IS NULL AND quantity_text IS NOT NULL",
    "quantity must not be 0": "quantity = 0",
    "quantity must not be below -10000": "quantity < -10000",
    "quantity must not be above 10000": "quantity > 10000",
    "net_amount is missing": "net_amount_text IS NULL",
    "net_amount cannot be read": "net_amount IS NULL AND net_amount_text IS NOT NULL",
    "net_amount is too large": "abs(net_amount) > 1e12",
    "net_amount has another sign than quantity": "net_amount * sign(quantity) < 0",
}


def main(file: str, target: str) -> None:
    with open(file, "rb") as opened:
        sha256 = hashlib.file_digest(opened, "sha256").hexdigest()
    names = headings(file)
    texts = ", ".join(f"{TIDY.format(name)} AS {name}{'_text' if name in TYPES else ''}" for name in names)
    typed = ", ".join(f"TRY_CAST({name}_text AS {kind}) AS {name}" for name, kind in TYPES.items())
    told = ", ".join(f"CASE WHEN {broken} THEN '{reason}' END" for reason, broken in REASONS.items())
    bad = " OR ".join(f"({broken}) IS TRUE" for broken in REASONS.values())
    with duckdb.connect(target) as con:
        con.execute(
            f"""
            CREATE TEMP TABLE checked AS
            SELECT *, {bad} AS bad FROM (SELECT *, {typed} FROM (
                SELECT row_number() OVER () + 1 AS row_number, {texts}
                FROM read_csv(?, header = true, all_varchar = true, nullstr = '')
            ))
            """,
            [file],
        )
        con.execute(
            f"CREATE TABLE sale AS SELECT {', '.join(names)}, row_number, ? AS sha256 FROM checked WHERE NOT bad",
            [sha256],
        )
        con.execute(
            f"""
            CREATE TABLE set_aside AS
            SELECT row_number, unnest(reasons) AS problem, row
            FROM (SELECT row_number, [{told}] AS reasons, to_json(checked) AS row FROM checked WHERE bad)
            """
        )
        con.execute("DELETE FROM set_aside WHERE problem IS NULL")


if __name__ == "__main__":
    main(*sys.argv[1:])
