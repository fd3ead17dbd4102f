"""The same work in pandas with pandera: text read and cast, checked in one lazy pass, bad rows set aside with reasons.

Both ways hash the file, look for repeated identities, number the rows and keep amounts exactly.
"""

from __future__ import annotations

import hashlib
import json
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
        "line_id": pa.Column(str, nullable=True, unique=True),
    },
    checks=[pa.Check(lambda frame: ~(frame["net_amount"] * frame["quantity"] < 0), error="amount follows quantity")],
)


EXACT = "quantity::DECIMAL(18, 4) AS quantity, net_amount::DECIMAL(18, 4) AS net_amount"
ASIDE = ["row_number", "column", "problem", "value", "row"]


def main(file: str, target: str) -> None:
    with open(file, "rb") as opened:
        sha256 = hashlib.file_digest(opened, "sha256").hexdigest()
    text = pd.read_csv(file, dtype=str, keep_default_na=False)
    text = text.apply(lambda column: column.str.strip().str.replace(r"\s+", " ", regex=True))
    frame = text.replace("", None)
    frame["sold_at"] = pd.to_datetime(frame["sold_at"], format="ISO8601", errors="coerce").astype("datetime64[us]")
    for column in ("quantity", "net_amount"):
        frame[column] = pd.to_numeric(frame[column], errors="coerce")
    try:
        SCHEMA.validate(frame, lazy=True)
        aside = pd.DataFrame(columns=ASIDE)
    except pa.errors.SchemaErrors as errors:
        aside = _reasons(errors.failure_cases, text)
    good = frame.assign(row_number=frame.index + 2).drop(index=aside["row_number"].unique() - 2)
    with duckdb.connect(target) as con:
        con.register("good", good)
        con.execute(f"CREATE TABLE sale AS SELECT * REPLACE ({EXACT}), ? AS sha256 FROM good", [sha256])
        con.register("aside", aside)
        con.execute("CREATE TABLE set_aside AS SELECT * FROM aside")


def _reasons(failures: pd.DataFrame, text: pd.DataFrame) -> pd.DataFrame:
    """Every fault of every bad row: its number in the file, column, check, value as written, and the whole row."""
    found = failures.dropna(subset="index").drop_duplicates(["index", "column", "check"])
    index = found["index"].astype("int64").to_numpy()
    columns = found["column"].where(found["column"].isin(text.columns), "net_amount")
    records = text.loc[index].to_dict("records")
    values = [row[column] for row, column in zip(records, columns, strict=True)]
    whole = [json.dumps(row) for row in records]
    return pd.DataFrame(dict(zip(ASIDE, (index + 2, columns, found["check"].astype(str), values, whole), strict=True)))


if __name__ == "__main__":
    main(*sys.argv[1:])
