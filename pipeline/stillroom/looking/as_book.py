"""A file as a book of blocks, fitted to one table: which cells are labels, which sheets are alike."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from typing import Final

from stillroom.intake import book
from stillroom.intake.planning import Candidate
from stillroom.intake.shaping import AROUND
from stillroom.looking.cells import cells_of
from stillroom.looking.headings import Fit, is_known
from stillroom.looking.recognising import Recognised
from stillroom.looking.ways import Tried, guess_for, with_headings
from stillroom.objects import Source, SourceFile
from stillroom.plugins.registry import Registry
from stillroom.reading import workbook
from stillroom.reading.grids import Grid, read_grid
from stillroom_schemas import fields
from stillroom_schemas.table import Table

LONGEST_LABEL: Final = 40


def as_book(
    candidate: Candidate,
    seen: Recognised,
    registry: Registry,
    source: Source,
    table: Table,
    words: frozenset[str],
    said: Mapping[str, str],
    *,
    turned: bool,
) -> Iterator[Tried]:
    """The file as a book of one table: by the sheet that fits it best, with the others that fit as well."""
    tried = []
    plain = SourceFile(path=candidate.path, name=candidate.name, encoding=seen.encoding or "utf-8")
    sheets: list[str | None] = [None]
    if seen.kind == "a workbook":
        sheets = (
            [candidate.sheet] if candidate.sheet else [*filter(seen.may_read, workbook.sheets_meant(plain, ("*",)))]
        )
    labels: dict[str, None] = {}
    grids = {}
    for sheet in sheets:
        file = replace(plain, sheet=sheet)
        if seen.kind == "delimited text":
            file = replace(file, separator=with_headings(candidate, seen, words).separator)
        grids[sheet] = (file, read_grid(file))
        labels |= dict.fromkeys(_labels(grids[sheet][1], words))
    low = frozenset(label.casefold() for label in labels)
    for sheet, (file, grid) in grids.items():
        if turned and not _down_the_side(grid, words):
            continue
        way = book.Way(labels=low, turned=turned)
        kinds = [] if turned else _kinds(book.blocks(grid.rows, low))
        looked = [_as_one(registry, source, table, file, replace(way, blocks_with=kind), said) for kind in kinds]
        ours = [one for one in looked if one is not None and not one.guess.fit.missing]
        others = [kind for kind, one in zip(kinds, looked, strict=True) if one not in ours]
        tables = [registry.tables[name] for name in source.tables if name != table.name]
        if len(ours) != 1 or not all(_fills_one(registry, source, tables, file, way, kind, said) for kind in others):
            ours = [one] if (one := _as_one(registry, source, table, file, way, said)) is not None else []
        tried += [replace(one, labels=tuple(labels), sheets=(sheet or "",)) for one in ours]
    if not tried:
        return
    best = max(tried, key=lambda one: one.guess.fit.rank)
    alike = [one for one in tried if _read_alike(one.guess.fit, best.guess.fit)]
    fill = tuple(dict.fromkeys(name for one in alike for name in one.guess.fill_down))
    yield replace(best, sheets=tuple(s for one in alike for s in one.sheets), guess=replace(best.guess, fill_down=fill))


def _down_the_side(grid: Grid, words: frozenset[str]) -> bool:
    """Whether the first cells of the rows are mostly words for headings."""
    firsts = [cells[0] for _, cells in grid.rows if cells and cells[0]]
    return sum(is_known(cell, words) for cell in firsts) >= max(2, len(firsts) / 2)


def _kinds(blocks: list[book.Block]) -> list[frozenset[str]]:
    """Of blocks under different headings, for each kind the headings that no other has; none where that tells none."""
    kinds = list(dict.fromkeys(tuple(block.headings) for block in blocks if block.lines))
    own = [
        frozenset(h.casefold() for h in kind if not any(h in other for other in kinds if other != kind))
        for kind in kinds
    ]
    return own if len(kinds) > 1 and all(len(some) > 1 for some in own) else []


def _as_one(
    registry: Registry, source: Source, table: Table, file: SourceFile, way: book.Way, said: Mapping[str, str]
) -> Tried | None:
    """A sheet as a book of one table, read in one way; None where it has no line."""
    rows = next(book.read_batches(file, way)).rows
    if rows.is_empty():
        return None
    found = {h: cells_of(rows[h]) for h in rows.columns if h not in AROUND}
    guess = guess_for(registry, source, table, rows, found, said, file)
    return Tried(file=file, is_book=True, labels=(), headings=rows.columns, guess=guess, way=way)


def _fills_one(
    registry: Registry,
    source: Source,
    tables: list[Table],
    file: SourceFile,
    way: book.Way,
    kind: frozenset[str],
    said: Mapping[str, str],
) -> bool:
    """Whether blocks of a kind fill another of the tables."""
    way = replace(way, blocks_with=kind)
    found = (_as_one(registry, source, table, file, way, said) for table in tables)
    return any(one is not None and not one.guess.fit.missing for one in found)


def _read_alike(one: Fit, best: Fit) -> bool:
    """Whether the columns that every row needs stand under the same headings."""
    schema = best.table.schema()
    needed = [name for name in best.columns if fields.needed(schema.columns[name])]
    return all(one.columns.get(name) == best.columns[name] for name in needed)


def _labels(grid: Grid, words: frozenset[str]) -> Iterator[str]:
    """Cells that are words for a heading, as they are written, and words before a colon."""
    for _, cells in grid.rows:
        for cell in cells:
            before = book.NUMBERED.sub("", cell.partition(":")[0].strip())
            if before and len(before) <= LONGEST_LABEL and is_known(before, words):
                yield before
