"""The same work in pandas with pandera: read text, cast, check in one lazy pass, set bad rows aside, land the rest."""

from __future__ import annotations

import sys

import duckdb
import pandas as pd
import pandera.pandas as pa

SCHEMA = pa.DataFrameSchema(
    {
        "sold_at": pa.Column("datetime64[us]"),
        "venue": pa.Column(str, nullable=True),
        "till_item": pa.Column(str),
        "quantity": pa.Column(float, [pa.Check.ge(-10_000), pa.Check.le(10_000), pa.Check.ne(0)]),
        "net_amount": pa.Column(float),
        "check_id": pa.Column(str, nullable=True),
        "line_id": pa.Column(str, nullable=True),
    },
    checks=[pa.Check(lambda frame: frame["net_amount"] * frame["quantity"] >= 0)],
)


def main(file: str, target: str) -> None:
    text = pd.read_csv(file, dtype=str, keep_default_na=False)
    text = text.apply(lambda column: column.str.strip().str.replace(r"\s+", " ", regex=True))
    frame = text.replace("", None)
    frame["sold_at"] = pd.to_datetime(frame["sold_at"], format="ISO8601", errors="coerce").astype("datetime64[us]")
    for column in ("quantity", "net_amount"):
        frame[column] = pd.to_numeric(frame[column], errors="coerce")
    try:
        SCHEMA.validate(frame, lazy=True)
        bad = pd.Series(dtype="int64")
    except pa.errors.SchemaErrors as errors:
        bad = errors.failure_cases["index"].dropna().astype("int64").drop_duplicates()
    with duckdb.connect(target) as con:
        good, aside = frame.drop(index=bad), text.loc[bad]
        con.register("good", good)
        con.execute("CREATE TABLE sale AS SELECT * FROM good")
        con.register("aside", aside)
        con.execute("CREATE TABLE set_aside AS SELECT * FROM aside")


if __name__ == "__main__":
    main(*sys.argv[1:])
