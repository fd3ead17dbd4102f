"""Rows that were set aside, written out to be corrected, and recognised when they come back.

The file carries four columns more than the rows it holds: by them an intake knows which rows of which edition of a
file they stand for. What was corrected becomes a decision of the house, and the file is read anew with it.
"""

from __future__ import annotations

import json
import os
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Final

import polars as pl

from stillroom import reading
from stillroom.errors import FileRefused
from stillroom.files import existing_folder, replace_all
from stillroom.house.decisions import Cells
from stillroom.objects import SourceFile, TextBatch
from stillroom.safecsv import as_rows, neutralised, restored
from stillroom.store import ledger

if TYPE_CHECKING:
    import duckdb

    from stillroom.intake.planning import Candidate

FILE: Final = "set aside from"
EDITION: Final = "edition"
ROW: Final = "set aside row"
PROBLEM: Final = "why it was set aside"
OURS: Final = (FILE, EDITION, ROW, PROBLEM)
"""No cells of the row's own."""
PEEK_BYTES: Final = 2**16
SHOWN_OF_HASH: Final = 16
MOST_DIGITS: Final = 18  # of a row's number


@dataclass(frozen=True, kw_only=True)
class Corrections:
    """What a file of corrections says: rows of one edition of a file, as they are now to be read."""

    entries: tuple[ledger.Entry, ...]
    """Its intakes, one for each table that it fills."""
    rows: Mapping[int, Cells]
    """Rows that wait and were changed; others say nothing new."""


def is_one(candidate: Candidate) -> bool:
    """Whether the file is one that `as_csv` wrote, wherever it lies."""
    return _may_be_one(candidate.path) and {FILE, EDITION, ROW} <= set(reading.read_headings(_plain(candidate)))


def read(con: duckdb.DuckDBPyConnection, candidate: Candidate) -> Corrections:
    """What a file of corrections says.

    Raises:
        FileRefused: it is of no edition of a file that counts, or of several, or a row has no number.
    """
    given = [row for batch in reading.read_batches(_plain(candidate)) for row in _rows(batch, candidate.name)]
    entries = _corrected(con, candidate.name, {(cells.pop(FILE) or "", cells.pop(EDITION) or "") for _, cells in given})
    ours = [entry.intake_id for entry in entries]
    waiting = con.execute('SELECT DISTINCT row_number, "row" FROM set_aside WHERE list_contains(?, intake_id)', [ours])
    was = {number: json.loads(row) for number, row in waiting.fetchall()}
    changed = {number: cells for number, cells in given if number in was and _differ(cells, was[number])}
    return Corrections(entries=entries, rows=changed)


def _rows(batch: TextBatch, name: str) -> list[tuple[int, dict[str, str | None]]]:
    """The number of the row that each row stands for, and its cells as they were before formulas were made harmless."""
    for malformed in batch.malformed:
        raise FileRefused(f"{name}, row {malformed.row_number}: {malformed.problem}. Nothing of it was taken in.")
    found = []
    for number, cells in zip(batch.row_numbers, batch.rows.iter_rows(named=True), strict=True):
        stands_for = (cells[ROW] or "").strip()
        if not stands_for.isdecimal() or len(stands_for) > MOST_DIGITS:
            raise FileRefused(
                f"{name}, row {number}: the column '{ROW}' must hold the number of the row that this one stands for, "
                f"not '{stands_for[:MOST_DIGITS]}'. Nothing of it was taken in."
            )
        own = {restored(heading): restored(cell or "") or None for heading, cell in cells.items()}
        found.append((int(stands_for), {h: cell for h, cell in own.items() if h not in (ROW, PROBLEM)}))
    return found


def _corrected(con: duckdb.DuckDBPyConnection, name: str, editions: set[tuple[str, str]]) -> tuple[ledger.Entry, ...]:
    """The intakes whose rows a file of corrections holds."""
    if len(editions) != 1:
        shown = "; ".join(sorted(f"{file}, {edition}" for file, edition in editions)) or "nothing"
        raise FileRefused(f"{name}: must hold rows of one edition of one file; '{FILE}' and '{EDITION}' say: {shown}.")
    [(file, edition)] = editions
    standing = ledger.entries(con, "file = ? AND intake_id IN (SELECT intake_id FROM standing)", (file,))
    found = [entry for entry in standing if _short(entry.content) == edition.strip()]
    if not found:
        raise FileRefused(
            f"{name}: corrects an edition of {file} that does not count ({edition}); 'stillroom aside --out FOLDER' "
            "writes out the rows that wait."
        )
    return tuple(found)


def _differ(cells: Cells, was: Cells) -> bool:
    return any((cells.get(heading) or "").strip() != (cell or "").strip() for heading, cell in was.items())


def applied(batch: TextBatch, rows: Mapping[int, Cells]) -> TextBatch:
    """The batch with corrected rows in the place of its own.

    Raises:
        FileRefused: several rows stand in the line that is corrected.
    """
    numbers = [int(number) for number in batch.row_numbers] if rows else []
    here = sorted(rows.keys() & {*numbers, *(one.row_number for one in batch.malformed)})
    if not here:
        return batch
    twice = [number for number in here if numbers.count(number) > 1]
    if twice:
        raise FileRefused(f"several rows stand in row {twice[0]}: correct them where they lie.")
    schema = dict.fromkeys(batch.rows.columns, pl.String)
    corrected = pl.DataFrame([{name: rows[number].get(name) for name in schema} for number in here], schema=schema)
    places = [numbers.index(n) if n in numbers else sum(other < n for other in numbers) - 0.5 for n in here]
    others = ~batch.row_numbers.is_in(here)
    own = [place for place, kept in enumerate(others) if kept]
    order = pl.Series([*own, *places], dtype=pl.Float64).arg_sort()
    both = pl.concat([batch.row_numbers.filter(others).cast(pl.Int64), pl.Series(here, dtype=pl.Int64)])
    return TextBatch(
        rows=pl.concat([batch.rows.filter(others), corrected])[order],
        row_numbers=both[order],
        passed_over=batch.passed_over,
        malformed=tuple(one for one in batch.malformed if one.row_number not in rows),
    )


def as_csv(rows: pl.DataFrame) -> str:
    """The rows of one intake as CSV text, with the file's own headings; formulas are made harmless.

    Args:
        rows: as `waiting.open_rows` gives them.
    """
    problems = rows.group_by("row_number", maintain_order=True).agg(
        pl.col("file", "edition", "row").first(),
        pl.concat_str([pl.col("column").fill_null("row"), pl.col("problem")], separator=" ").str.join("; "),
    )
    texts = [json.loads(row) for row in problems["row"]]
    headings = list(dict.fromkeys(heading for cells in texts for heading in cells))
    written = [[*OURS, *map(neutralised, headings)]]
    for (number, file, edition, _, why), cells in zip(problems.iter_rows(), texts, strict=True):
        values = [neutralised(cells.get(heading) or "") for heading in headings]
        written.append([neutralised(file), _short(edition), str(number), neutralised(why), *values])
    return as_rows(written)


def _short(content: str) -> str:
    """A hash short enough for a cell, which no spreadsheet takes for a number."""
    return f"sha256:{content.partition(' ')[0][:SHOWN_OF_HASH]}"


def _plain(candidate: Candidate) -> SourceFile:
    return SourceFile(path=candidate.path, name=candidate.name, looked_for=frozenset({FILE, EDITION, ROW}))


def _may_be_one(path: Path) -> bool:
    if not os.path.isfile(path):  # a pipe would wait for somebody to write into it
        return False
    try:
        with path.open("rb") as file:
            return FILE.encode() in file.read(PEEK_BYTES)
    except OSError:
        return False


def write(folder: Path, texts: Mapping[str, str]) -> None:
    """Write correction files, by their names: all or none; one that is there already is never overwritten."""
    files = {existing_folder(folder) / name: text.encode() for name, text in texts.items()}
    for path in files:
        if path.exists():
            raise FileRefused(f"{path}: is there already; move it away, or correct and take in what is in it.")
    try:
        replace_all(files)
    except OSError as error:
        raise FileRefused(f"{folder}: cannot be written to ({error.strerror}).") from None
