"""Rows that were set aside, written out to be corrected, and recognised when they come back.

The file carries three columns more than the rows it holds; by them an intake knows that these rows belong to an
earlier file and complete it, instead of replacing it.
"""

from __future__ import annotations

import csv
import io
import json
from pathlib import Path
from typing import TYPE_CHECKING, Final

import polars as pl

from stillroom.errors import FileRefused
from stillroom.objects import TextBatch
from stillroom.safecsv import neutralised, restored

if TYPE_CHECKING:
    import duckdb

INTAKE: Final = "set aside from intake"
ROW: Final = "set aside row"
PROBLEM: Final = "why it was set aside"


def open_rows(con: duckdb.DuckDBPyConnection, intake_id: int | None = None) -> pl.DataFrame:
    """What is set aside and waits to be corrected: a row for each problem, of intakes that stand."""
    from stillroom.store import frames

    return frames.fetch(
        con,
        """
        SELECT s.intake_id, s.file, s.row_number, s."column", s.problem, s."value", s.rule, s."row"
        FROM set_aside AS s JOIN intake AS i ON i.intake_id = s.intake_id
        WHERE i.undone_at IS NULL AND s.corrected_by IS NULL AND ($1 IS NULL OR s.intake_id = $1)
        ORDER BY s.intake_id, s.row_number, s."column"
        """,
        [intake_id],
    )


def as_csv(rows: pl.DataFrame) -> str:
    """The rows of one intake as CSV text, with the file's own headings; formulas are made harmless."""
    problems = rows.group_by("row_number", maintain_order=True).agg(
        pl.col("intake_id").first(),
        pl.col("row").first(),
        pl.concat_str([pl.col("column").fill_null("row"), pl.col("problem")], separator=" ").str.join("; "),
    )
    texts = [json.loads(row) for row in problems["row"]]
    headings = list(dict.fromkeys(heading for cells in texts for heading in cells))
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow([INTAKE, ROW, PROBLEM, *headings])
    for (number, intake_id, _, why), cells in zip(problems.iter_rows(), texts, strict=True):
        values = [neutralised(cells.get(heading) or "") for heading in headings]
        writer.writerow([intake_id, number, neutralised(why), *values])
    return out.getvalue()


def is_correction(headings: list[str]) -> bool:
    """A file written by `as_csv`."""
    return INTAKE in headings and ROW in headings


def corrected_intake(batches: list[TextBatch], name: str) -> int:
    """The intake that a correction belongs to."""
    numbers = {text.strip() for batch in batches for text in batch.rows[INTAKE].fill_null("")}
    if len(numbers) != 1 or not next(iter(numbers)).isdigit():
        shown = ", ".join(sorted(numbers)) or "nothing"
        raise FileRefused(
            f"{name}: the column '{INTAKE}' must hold one intake's number in every row; it holds: {shown}."
        )
    return int(numbers.pop())


def corrected_rows(batch: TextBatch) -> list[int]:
    """Numbers of the rows that a correction stands for."""
    return [int(text) for text in batch.rows[ROW].fill_null("") if text.strip().isdigit()]


def plain(batch: TextBatch) -> TextBatch:
    """The rows as they were before formulas were made harmless."""
    rows = batch.rows.with_columns(pl.all().map_elements(restored, return_dtype=pl.String, skip_nulls=True))
    return TextBatch(rows=rows, row_numbers=batch.row_numbers, passed_over=batch.passed_over, malformed=batch.malformed)


def write(path: Path, text: str) -> None:
    """Write a correction file; one that is there already is never overwritten."""
    try:
        with path.open("x", encoding="utf-8", newline="") as file:
            file.write(text)
    except FileExistsError:
        raise FileRefused(f"{path}: is there already; move it away, or correct and take in what is in it.") from None
    except OSError as error:
        raise FileRefused(f"{path}: cannot be written ({error.strerror}).") from None
