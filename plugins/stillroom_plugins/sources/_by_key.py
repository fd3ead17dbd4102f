"""Sheets of drawn-up sessions: the codes are turned back into versions by the session's key, blank rows passed over."""

from __future__ import annotations

from collections.abc import Callable, Iterator

import polars as pl

from stillroom.answers.panel_plan.drawing import KEY_COLUMNS
from stillroom.answers.panel_plan.resolving import (
    KEY_ENDING,
    KEY_FOLDER,
    SHEET_ENDING,
    key_beside,
    resolve_answers,
    resolve_codes,
)
from stillroom.answers.panel_plan.slips import typed_elsewhere
from stillroom.errors import FileRefused
from stillroom.objects import Malformed, SourceFile, TextBatch
from stillroom.reading import read_batches
from stillroom.safecsv import restored
from stillroom.words import listed

Resolve = Callable[[pl.DataFrame, pl.DataFrame], tuple[pl.DataFrame, dict[int, str]]]


def read_scores(file: SourceFile) -> Iterator[TextBatch]:
    """The batches of a tasting sheet."""
    return _read(file, resolve_codes, filled=("score",))


def read_answers(file: SourceFile) -> Iterator[TextBatch]:
    """The batches of a trial sheet."""
    return _read(file, resolve_answers, filled=("answer", "correct", "chosen"))


def _read(file: SourceFile, resolve: Resolve, filled: tuple[str, ...]) -> Iterator[TextBatch]:
    """The file's batches; those of a session's sheet with versions for codes.

    `filled`: headings of which one at least is filled in once the row is answered.
    """
    if not file.path.stem.casefold().endswith(SHEET_ENDING):
        yield from read_batches(file)
        return
    key = _key(file)
    for batch in read_batches(file):
        yield _resolved(_answered(batch, filled), key, file, resolve)


def _key(file: SourceFile) -> pl.DataFrame | None:
    path = key_beside(file.path)
    if path is None:
        return None
    batches = [batch.rows for batch in read_batches(SourceFile(path=path, name=path.name))]
    key = pl.concat(batches) if batches else pl.DataFrame(schema=dict.fromkeys(KEY_COLUMNS, pl.String))
    if lacking := [name for name in KEY_COLUMNS if name not in key.columns]:
        raise FileRefused(
            f"{file.name}: its key {path.name} has no column {listed(lacking)}; put back the key that 'stillroom panel "
            "plan' wrote, with its first line."
        )
    return key.with_columns(pl.col("spec").fill_null("").map_elements(restored, pl.String))


def _answered(batch: TextBatch, filled: tuple[str, ...]) -> TextBatch:
    """A row that nobody has filled in yet counts as blank."""
    there = [name for name in filled if name in batch.rows.columns]
    if not there:
        return batch
    some = pl.any_horizontal(pl.col(name).fill_null("").str.strip_chars() != "" for name in there)
    astray = pl.Series(list(typed_elsewhere(batch.rows)), dtype=pl.Int64)
    keep = batch.rows.select(some | pl.int_range(pl.len()).is_in(astray.implode())).to_series()
    return TextBatch(
        rows=batch.rows.filter(keep),
        row_numbers=batch.row_numbers.filter(keep),
        passed_over=batch.passed_over + int((~keep).sum()),
        malformed=batch.malformed,
    )


def _resolved(batch: TextBatch, key: pl.DataFrame | None, file: SourceFile, resolve: Resolve) -> TextBatch:
    known = key if key is not None else pl.DataFrame(schema=dict.fromkeys(KEY_COLUMNS, pl.String))
    rows, problems = resolve(batch.rows, known)
    astray = typed_elsewhere(batch.rows)
    problems = problems | astray
    if not problems:
        return TextBatch(
            rows=rows, row_numbers=batch.row_numbers, passed_over=batch.passed_over, malformed=batch.malformed
        )
    if key is None:
        name = file.path.stem[: -len(SHEET_ENDING)] + KEY_ENDING
        problems = dict.fromkeys(problems, f"its code needs the key {KEY_FOLDER}/{name} beside the sheet") | astray
    lost = [
        Malformed(
            row_number=int(batch.row_numbers[place]),
            problem=problem,
            cells=tuple("" if cell is None else cell for cell in batch.rows.row(place)),
        )
        for place, problem in problems.items()
    ]
    kept = pl.Series([place not in problems for place in range(rows.height)], dtype=pl.Boolean)
    return TextBatch(
        rows=rows.filter(kept),
        row_numbers=batch.row_numbers.filter(kept),
        passed_over=batch.passed_over,
        malformed=(*batch.malformed, *lost),
    )
