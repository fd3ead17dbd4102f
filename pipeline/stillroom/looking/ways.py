"""One way to read a file into one table, and how well that fits."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from itertools import pairwise

import polars as pl

from stillroom.errors import FileRefused
from stillroom.intake import book
from stillroom.intake.planning import Candidate
from stillroom.looking.cells import Cells
from stillroom.looking.guesses import Guess, guessed, with_labels
from stillroom.looking.headings import fit, heading_row
from stillroom.looking.recognising import Recognised
from stillroom.objects import Source, SourceFile
from stillroom.plugins.registry import Registry
from stillroom.reading import delimited, workbook
from stillroom_schemas.table import Table


@dataclass(frozen=True, kw_only=True)
class Tried:
    """One way to read the file into one table."""

    file: SourceFile
    is_book: bool
    labels: tuple[str, ...]
    headings: list[str]
    guess: Guess
    sheets: tuple[str, ...] = ()
    """Sheets that can be read alike."""
    way: book.Way = field(default_factory=lambda: book.Way(labels=frozenset()))


def guess_for(
    registry: Registry,
    source: Source,
    table: Table,
    rows: pl.DataFrame,
    found: Mapping[str, Cells],
    said: Mapping[str, str],
    file: SourceFile,
) -> Guess:
    """How the file fits a table; where its rows may be about rows of another table of the file, with these."""
    guess = guessed(fit(source, table, found, said), rows, found, said, f"{file.path.stem} {file.sheet or ''}")
    for reference in table.references:
        partner = registry.tables[reference.table]
        if reference.columns == ("batch",) and partner.name in source.tables:
            guess = with_labels(guess, guessed(fit(source, partner, found, said), rows, found), said)
    return guess


def with_headings(candidate: Candidate, seen: Recognised, known: frozenset[str]) -> SourceFile:
    """The file, told where its headings are: by the words in them, or else by the shape of the rows."""
    file = SourceFile(path=candidate.path, name=candidate.name, encoding=seen.encoding or "utf-8")
    if seen.kind == "delimited text":
        rows = {key: some for key, some in delimited.first_rows(file).items() if some}
        if len(rows) > 1 and all(re.search(r"\d$", a) and re.match(r"\d", b) for a, b in _parted_by(rows.get(",", []))):
            rows.pop(",", None)  # which parts decimals
    elif seen.kind == "a workbook":
        rows = {key: some for key, some in workbook.first_rows(file).items() if some and seen.may_read(key)}
    else:
        return file
    if not rows:
        raise FileRefused(f"{candidate.name}: holds no row of headings.")
    tops = {key: heading_row(some, known) for key, some in rows.items()}
    best = max(tops, key=lambda key: (tops[key][2], _usual_width(rows[key]), len(tops[key][1])))
    cells = frozenset(" ".join(cell.split()).casefold() for cell in tops[best][1] if cell.strip())
    where = {"separator": best} if seen.kind == "delimited text" else {"sheet": best}
    return replace(file, looked_for=cells, **where)  # type: ignore[arg-type]


def _parted_by(rows: list[tuple[int, list[str]]]) -> Iterator[tuple[str, str]]:
    """Cells that stand beside one another, pair by pair."""
    return (pair for _, cells in rows for pair in pairwise(cells))


def _usual_width(rows: list[tuple[int, list[str]]]) -> int:
    widths = [len(cells) for _, cells in rows]
    return max(set(widths), key=lambda width: (widths.count(width), width))
