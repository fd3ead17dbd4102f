"""What a source gives of one planned file: its rows in shaped batches, and what tells one content from another."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Mapping
from typing import Final

from stillroom.errors import FileRefused, PluginError, StillroomError, in_one_line
from stillroom.house.decisions import Cells
from stillroom.intake import book, completing, corrections, planning, shaping
from stillroom.intake.planning import Plan
from stillroom.objects import TextBatch

SAMPLE_BYTES: Final = 2**18


def batches(plan: Plan, corrected: Mapping[int, Cells]) -> Iterator[tuple[TextBatch, TextBatch]]:
    """The source's batches, with corrected rows in their places: each shaped, and as it stands in the file.

    What cannot be done with a batch is the plugin's fault, and is named so.

    Raises:
        FileRefused: the file cannot be read to its end.
        PluginError: the plugin fails.
    """
    above, counting = completing.Above(plan), completing.Counting(plan)
    try:
        for batch in _read(plan):
            _refuse_wrong_shape(batch, plan)
            lines = completing.told_apart(above.filled_in(corrections.applied(batch, corrected)), plan)
            # Labels are counted among all rows: those that one table passes over are another's.
            batch = shaping.shaped(completing.lines_apart(lines, plan), plan.layout, plan.settings)
            batch = counting.counted(completing.on_their_days(batch, plan))
            yield completing.told_once(shaping.of_the_table(batch, plan.layout, plan.settings), plan), lines
    except StillroomError:
        raise
    except Exception as error:
        raise PluginError(
            f"{plan.file.name}: source plugin '{plan.source.name}' failed ({in_one_line(error)})."
        ) from error


def _read(plan: Plan) -> Iterator[TextBatch]:
    if not plan.settings.book:
        return plan.source.batches_of(plan.file)
    return book.read_batches(plan.file, planning.way_of(plan.table, plan.settings))


def _refuse_wrong_shape(batch: object, plan: Plan) -> None:
    import polars as pl

    who = f"{plan.file.name}: source plugin '{plan.source.name}'"
    if not isinstance(batch, TextBatch):
        raise PluginError(f"{who} must yield TextBatch objects, not {type(batch).__name__}.")
    wrong = [name for name, dtype in batch.rows.schema.items() if dtype != pl.String]
    if wrong:
        raise PluginError(f"{who} yields column '{wrong[0]}' as {batch.rows.schema[wrong[0]]}; all cells must be text.")
    wide = plan.settings.wide
    turned = (
        shaping.COMMENT,
        shaping.KIND,
        shaping.YIELD,
        *((wide.headings_are, wide.cells_are) if wide else ()),
        *plan.layout.counted,
    )
    wanted = [h for several in plan.layout.headings.values() for h in several if h not in turned]
    absent = [heading for heading in wanted if heading not in batch.rows.columns]
    if absent:
        raise PluginError(f"{who} promised a heading '{absent[0]}' that its rows do not have.")
    if len(batch.row_numbers) != batch.rows.height:
        raise PluginError(f"{who} yields {batch.rows.height} rows with {len(batch.row_numbers)} row numbers.")


def fingerprint(plan: Plan) -> str:
    """What tells one content from another: of a file its bytes, of a query its rows; a sheet's name is part of it."""
    if plan.file.query is not None:
        digest = hashlib.sha256()
        for batch in plan.source.batches_of(plan.file):
            digest.update(batch.rows.write_csv(include_header=False, quote_style="always").encode())
            digest.update(repr(batch.malformed).encode())
        return digest.hexdigest()
    try:
        with plan.file.path.open("rb") as stream:
            sha256 = hashlib.file_digest(stream, "sha256").hexdigest()
    except OSError as error:
        raise FileRefused(f"{plan.file.name}: cannot be read ({error.strerror}).") from None
    return sha256 if plan.file.sheet is None else f"{sha256} {plan.file.sheet}"


def stamp(plan: Plan) -> tuple[int, ...]:
    """What the file system says of the file, another once that is written to or replaced; nothing of a query."""
    if plan.file.query is not None:
        return ()
    try:
        told = plan.file.path.stat()
    except OSError:
        return ()
    return (told.st_dev, told.st_ino, told.st_size, told.st_mtime_ns)


def size(plan: Plan) -> int:
    """The bytes of the file; 0 of a query, and where they cannot be told."""
    try:
        return 0 if plan.file.query is not None else plan.file.path.stat().st_size
    except OSError:
        return 0


def about_how_many(plan: Plan) -> int:
    """How many rows a file of text holds, judged by its beginning; 0 where that cannot be told."""
    if plan.file.query is not None:
        return 0
    try:
        with plan.file.path.open("rb") as stream:
            start = stream.read(SAMPLE_BYTES)
    except OSError:
        return 0
    if b"\0" in start:
        return 0
    lines = max(start.count(b"\n"), 1)
    return round(size(plan) * lines / max(len(start), 1))
