"""The same small table written as files of every kind, for tests that hold them against each other."""

from __future__ import annotations

import gzip
import io
import json
import sqlite3
import zipfile
from collections.abc import Callable
from datetime import datetime
from pathlib import Path

import polars as pl
import xlsxwriter

from house_builder import csv_text

Row = dict[str, object]
"""A till line: sold_at (datetime), till_item, quantity, net_amount."""


def texts(rows: list[Row]) -> str:
    return csv_text([{k: v.isoformat(" ") if isinstance(v, datetime) else v for k, v in row.items()} for row in rows])


def zipped(name: str, content: bytes, *more: str) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as pack:
        for one in (name, *more):
            pack.writestr(one, content)
    return out.getvalue()


def as_xlsx(rows: list[Row]) -> bytes:
    """Dates and numbers as typed cells, below a title and beside a sheet without a table."""
    out = io.BytesIO()
    with xlsxwriter.Workbook(out, {"strings_to_formulas": False, "strings_to_numbers": False}) as book:
        moments = book.add_format({"num_format": "dd/mm/yyyy hh:mm"})
        book.add_worksheet("Notes").write(0, 0, "nothing here")
        sheet = book.add_worksheet("Lines")
        sheet.write(0, 0, "Sales of the season")
        sheet.write_row(2, 0, list(rows[0]))
        for place, row in enumerate(rows, 3):
            for column, value in enumerate(row.values()):
                if isinstance(value, datetime):
                    sheet.write_datetime(place, column, value, moments)
                else:
                    sheet.write(place, column, value)
    return out.getvalue()


def as_parquet(rows: list[Row]) -> bytes:
    out = io.BytesIO()
    pl.DataFrame(rows).write_parquet(out)
    return out.getvalue()


def as_json_lines(rows: list[Row]) -> bytes:
    return "".join(json.dumps(row, default=str, ensure_ascii=False) + "\n" for row in rows).encode()


FILES: dict[str, tuple[str, Callable[[list[Row]], bytes], str]] = {
    "csv": ("t.csv", lambda rows: texts(rows).encode(), ""),
    "semicolons": ("t.csv", lambda rows: texts(rows).replace(",", ";").encode(), ""),
    "cp1252": ("t.csv", lambda rows: texts(rows).encode("cp1252"), 'encoding = "cp1252"\n'),
    "UTF-16": ("t.csv", lambda rows: texts(rows).encode("utf-16"), ""),
    "gzip": ("t.csv.gz", lambda rows: gzip.compress(texts(rows).encode()), ""),
    "zip": ("t.zip", lambda rows: zipped("in/t.csv", texts(rows).encode(), "__MACOSX/._t.csv"), ""),
    "XLSX": ("t.xlsx", as_xlsx, ""),
    "XLSX in a zip": ("t.zip", lambda rows: zipped("t.xlsx", as_xlsx(rows)), ""),
    "XLSX with a date format set": ("t.xlsx", as_xlsx, 'date_format = "%d/%m/%Y %H:%M"\n'),
    "Parquet": ("t.parquet", as_parquet, ""),
    "JSON lines": ("t.jsonl", as_json_lines, ""),
}
"""Kind -> the file's name, how it is written, and the setting that it needs."""


def write_sqlite(path: Path, rows: list[Row]) -> None:
    con = sqlite3.connect(path)
    con.execute("CREATE TABLE sold (sold_at TEXT, till_item TEXT, quantity NUMERIC, net_amount NUMERIC)")
    con.executemany("INSERT INTO sold VALUES (?, ?, ?, ?)", [tuple(map(_plain, row.values())) for row in rows])
    con.commit()
    con.close()


def _plain(value: object) -> object:
    return value.isoformat(" ") if isinstance(value, datetime) else value
