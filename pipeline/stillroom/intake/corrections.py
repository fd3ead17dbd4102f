"""Rows that were set aside, written out to be corrected, and recognised when they come back.

The file carries three columns more than the rows it holds; by them an intake knows that these rows belong to an
earlier file and complete it, instead of replacing it.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Final

import polars as pl

from stillroom import reading
from stillroom.errors import FileRefused
from stillroom.house.house import House
from stillroom.house.model import SourceSettings
from stillroom.intake import planning, shaping
from stillroom.objects import Malformed, SourceFile, TextBatch
from stillroom.plugins.registry import Registry
from stillroom.safecsv import as_rows, neutralised, restored
from stillroom.store import ledger
from stillroom_schemas.table import Table

if TYPE_CHECKING:
    import duckdb

    from stillroom.intake.planning import Candidate, Plan

INTAKE: Final = "set aside from intake"
ROW: Final = "set aside row"
PROBLEM: Final = "why it was set aside"
OURS: Final = (INTAKE, ROW, PROBLEM)
"""No cells of the row's own; a row that was set aside from a correction has them, too."""
PEEK_BYTES: Final = 2**16


@dataclass(frozen=True, kw_only=True)
class Correction:
    """A file of corrected rows, planned like the file they were set aside from."""

    plan: Plan
    intake_id: int
    """The intake whose rows it corrects."""
    root: int
    """The intake that took the file itself in: another one where a correction is corrected."""
    place: int
    """That intake's place in the order of files."""
    open_rows: Mapping[int, Mapping[str, str | None]]
    """Rows that wait to be corrected, with their cells as they were set aside; only these can be."""


def plan(con: duckdb.DuckDBPyConnection, candidate: Candidate, house: House, registry: Registry) -> Correction | None:
    """The plan for a file that `as_csv` wrote, wherever it lies; None for any other.

    Raises:
        FileRefused: it corrects an intake that is not in force, or several at once.
    """
    if not is_one(candidate):
        return None
    plain = SourceFile(path=candidate.path, name=candidate.name, looked_for=frozenset({INTAKE, ROW}))
    number = _corrected_intake(list(reading.read_batches(plain)), candidate.name)
    entry = ledger.in_force(con, number)
    if entry is None:
        raise FileRefused(
            f"{candidate.name}: corrects intake {number}, which is not in force; 'stillroom ledger' lists them."
        )
    settings = _settings(house, entry)
    waiting_rows = con.execute(
        'SELECT DISTINCT row_number, "row" FROM set_aside WHERE intake_id = ? AND corrected_by IS NULL',
        [entry.intake_id],
    ).fetchall()
    return Correction(
        plan=_with_headings_restored(planning.plan(replace(candidate, settings=settings), registry)),
        intake_id=entry.intake_id,
        root=entry.corrects or entry.intake_id,
        place=entry.place,
        open_rows={row_number: json.loads(row) for row_number, row in waiting_rows},
    )


def _with_headings_restored(plan: Plan) -> Plan:
    headings = {column: tuple(map(restored, several)) for column, several in plan.layout.headings.items()}
    unused = tuple(map(restored, plan.layout.unused))
    return replace(plan, layout=replace(plan.layout, headings=headings, unused=unused))


def is_one(candidate: Candidate) -> bool:
    """Whether the file is one that `as_csv` wrote."""
    if not _may_be_one(candidate.path):
        return False
    file = SourceFile(path=candidate.path, name=candidate.name, looked_for=frozenset({INTAKE, ROW}))
    return {INTAKE, ROW} <= set(reading.read_headings(file))


def _may_be_one(path: Path) -> bool:
    if not path.is_file():  # a pipe would wait for somebody to write into it
        return False
    try:
        with path.open("rb") as file:
            return INTAKE.encode() in file.read(PEEK_BYTES)
    except OSError:
        return False


def _settings(house: House, entry: ledger.Entry) -> SourceSettings:
    """The settings of the file that the rows came from, as far as they hold for the file of corrections."""
    default = SourceSettings(name=entry.source, plugin=entry.plugin)
    settings = next((s for s in house.sources if s.name == entry.source), default)
    origin = SourceFile(path=Path(entry.path), name=entry.file, sheet=entry.sheet)
    return settings.model_copy(
        update={
            "table": entry.table_name,
            "columns": {column: tuple(map(neutralised, several)) for column, several in settings.columns.items()},
            "constants": shaping.constants(settings, origin),
            "encoding": "utf-8",
            "book": False,
            "once": False,
            **dict.fromkeys(("sheet", "fill_down", "only_with"), ()),
            **dict.fromkeys(("venue_in_name", "separator", "wide", "database", "query")),
        }
    )


def as_csv(rows: pl.DataFrame) -> str:
    """The rows of one intake as CSV text, with the file's own headings; formulas are made harmless."""
    problems = rows.group_by("row_number", maintain_order=True).agg(
        pl.col("intake_id").first(),
        pl.col("row").first(),
        pl.concat_str([pl.col("column").fill_null("row"), pl.col("problem")], separator=" ").str.join("; "),
    )
    texts = [json.loads(row) for row in problems["row"]]
    headings = [h for h in dict.fromkeys(heading for cells in texts for heading in cells) if h not in OURS]
    written = [[*OURS, *map(neutralised, headings)]]
    for (number, intake_id, _, why), cells in zip(problems.iter_rows(), texts, strict=True):
        values = [neutralised(cells.get(heading) or "") for heading in headings]
        written.append([str(intake_id), str(number), neutralised(why), *values])
    return as_rows(written)


def _corrected_intake(batches: list[TextBatch], name: str) -> int:
    """The intake that a correction belongs to."""
    numbers = {text.strip() for batch in batches for text in batch.rows[INTAKE].fill_null("")}
    if len(numbers) != 1 or not next(iter(numbers)).isdecimal():
        shown = ", ".join(sorted(numbers)) or "nothing"
        raise FileRefused(
            f"{name}: the column '{INTAKE}' must hold one intake's number in every row; it holds: {shown}."
        )
    return int(numbers.pop())


def corrected_rows(batch: TextBatch) -> list[int]:
    """Numbers of the rows that the rows of a correction stand for."""
    return [int(text) for text in batch.rows[ROW]]


def waiting(batch: TextBatch, correction: Correction) -> TextBatch:
    """The rows that still wait and were changed, as they were before formulas were made harmless.

    Others are passed over: a correction never lands twice, and a row that comes back as it was waits where it is.
    """
    rows = batch.rows.with_columns(pl.all().map_elements(restored, return_dtype=pl.String, skip_nulls=True))
    rows = rows.rename(restored)
    kept, nameless = [], []
    for number, cells in zip(batch.row_numbers, rows.iter_rows(named=True), strict=True):
        row = (cells[ROW] or "").strip()
        if not row.isdecimal():
            problem = f"the column '{ROW}' must hold the number of the row that this one stands for"
            texts = tuple(cell or "" for cell in cells.values())
            nameless.append(Malformed(row_number=number, problem=problem, cells=texts))
        was = correction.open_rows.get(int(row)) if row.isdecimal() else None
        kept.append(was is not None and _differ(cells, was))
    keep = pl.Series(kept, dtype=pl.Boolean)
    return TextBatch(
        rows=rows.filter(keep),
        row_numbers=batch.row_numbers.filter(keep),
        passed_over=batch.passed_over + len(kept) - sum(kept) - len(nameless),
        malformed=(*batch.malformed, *nameless),
    )


def _differ(cells: Mapping[str, str | None], was: Mapping[str, str | None]) -> bool:
    own = (heading for heading in was if heading not in OURS)
    return any((cells.get(heading) or "").strip() != (was[heading] or "").strip() for heading in own)


def carry(con: duckdb.DuckDBPyConnection, table: Table, old: int, new: int) -> int:
    """Let what was corrected of a file's earlier reading hold for its new one: those rows stay set aside, and closed.

    How many rows this moves from those that landed to those set aside.
    """
    corrected = "SELECT row_number FROM set_aside WHERE intake_id = ? AND corrected_by IS NOT NULL"
    moved = con.execute(
        f'DELETE FROM "{table.name}" WHERE intake_id = ? AND row_number IN ({corrected})', [new, old]
    ).fetchall()
    con.execute(f"DELETE FROM set_aside WHERE intake_id = ? AND row_number IN ({corrected})", [new, old])
    con.execute(
        "INSERT INTO set_aside SELECT * REPLACE (CAST(? AS INTEGER) AS intake_id) FROM set_aside "
        "WHERE intake_id = ? AND corrected_by IS NOT NULL",
        [new, old],
    )
    return int(moved[0][0])


def write(path: Path, text: str) -> None:
    """Write a correction file; one that is there already is never overwritten."""
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with path.open("x", encoding="utf-8", newline="") as file:
            file.write(text)
    except FileExistsError:
        if not path.exists():  # its folder is a file
            raise FileRefused(f"{path}: cannot be written: {path.parent} is no folder.") from None
        raise FileRefused(f"{path}: is there already; move it away, or correct and take in what is in it.") from None
    except OSError as error:
        raise FileRefused(f"{path}: cannot be written ({error.strerror}).") from None
