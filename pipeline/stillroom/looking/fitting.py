"""Which source and table a file fits best, as a table under headings or as a book of blocks."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from typing import Final

import polars as pl

from stillroom.errors import FileRefused, SettingsError
from stillroom.house.model import SourceSettings
from stillroom.intake import book, book_rows
from stillroom.intake.book_rows import Row
from stillroom.intake.planning import Candidate
from stillroom.intake.shaping import AROUND, row_words
from stillroom.looking.as_book import as_book
from stillroom.looking.cells import Cells, cells_of
from stillroom.looking.encodings import TO_BE_NAMED
from stillroom.looking.headings import Fit, is_known, known_words
from stillroom.looking.pinning import as_read, pinned, pinned_book, seen_as_book
from stillroom.looking.recognising import Recognised
from stillroom.looking.ways import Tried, guess_for, with_headings
from stillroom.looking.words import plain, words_of
from stillroom.objects import Source, SourceFile
from stillroom.plugins.registry import Registry, unfit_model
from stillroom.reading.nameless import is_nameless
from stillroom_schemas.table import Table

SAMPLE_ROWS: Final = 200
PLAIN: Final = "a table under headings"
BOOK: Final = "a book of blocks"
TURNED: Final = "a book with a record a column"
INGREDIENTS: Final = frozenset(word for column in ("sugar_pct", "acid_pct", "allergens") for word in words_of(column))
"""Words for a column that may as well be an item: 'Zucker' at the beginning of a line is no label."""


def best_fit(
    candidate: Candidate,
    seen: Recognised,
    registry: Registry,
    plugin: str | None,
    table: str | None,
    said: Mapping[str, str] | None = None,
) -> tuple[Fit, SourceSettings, Recognised]:
    """The source and table that the headings fit best, settings that read the file so, and where the headings are.

    Args:
        candidate: the file.
        seen: its kind and encoding.
        registry: the plugins.
        plugin: the only one to think of, or None.
        table: the only one to think of, or None.
        said: column -> what the file's keeper has answered.

    Raises:
        FileRefused: no table is near.
        SettingsError: there is no such plugin, or it fills no such table.
    """
    said = said or {}
    pairs = _pairs(registry, plugin, table)
    own = registry.sources[plugin] if plugin is not None and registry.sources[plugin].has_own_reader else None
    tried: list[Tried] = []
    refusal: FileRefused | None = None
    may_be_book = seen.kind in ("delimited text", "a workbook")
    for ways in ((BOOK, TURNED),) if _names_around(said) else ((PLAIN,), (BOOK, TURNED)):
        for way in ways:
            try:
                tried += _tried(candidate, seen, registry, pairs, own, said, way)
            except FileRefused as refused:
                refusal = refusal or refused
        fits = [one.guess.fit for one in tried]
        if any(not one.missing and (one.is_near or table is not None) for one in fits) or not may_be_book:
            break
    if not tried:
        assert refusal is not None
        raise refusal
    near = [one for one in tried if one.guess.fit.is_near]
    best = max(near or tried, key=lambda one: one.guess.fit.rank)
    if not near and table is None:
        shown = ", ".join(best.headings[:12]) + (", ..." if len(best.headings) > 12 else "")
        raise FileRefused(
            f"{candidate.name}: no table is near these headings: {shown}. If one is meant, say which with --table."
        )
    fit, guess = best.guess.fit, best.guess
    settings = SourceSettings(
        name=fit.source.name,  # until the file gives it one
        plugin=fit.source.name,
        table=fit.table.name if len(fit.source.tables) > 1 else None,
        encoding=seen.encoding if seen.encoding in TO_BE_NAMED else "utf-8",
        columns={name: fit.columns[name] for name in fit.columns if name in fit.suggested},
        constants=dict(guess.constants),
        wide=fit.wide,
        book=best.is_book,
        blocks_with=tuple(h for h in best.headings if h.casefold() in best.way.blocks_with),
        records_in_columns=best.way.turned,
        labels=best.labels,
        fill_down=guess.fill_down,
        only_with=guess.only_with,
        once=guess.once,
    )
    if best.is_book:
        return fit, pinned_book(best, settings, seen), seen_as_book(best, seen)
    seen = as_read(seen, best.file, fit.source)
    return fit, pinned(best.file, settings, fit.table, seen), seen


def _names_around(said: Mapping[str, str]) -> bool:
    """Whether an answer names what stands around the rows of a book: its title, its sheet."""
    return any(place in answer for answer in said.values() for place in AROUND)


def _tried(
    candidate: Candidate,
    seen: Recognised,
    registry: Registry,
    pairs: list[tuple[str, Table]],
    own: Source | None,
    said: Mapping[str, str],
    way: str,
) -> Iterator[Tried]:
    """The file as a plain table, or as a book, fitted to each of the tables."""
    if way == PLAIN:
        yield from _as_table(candidate, seen, registry, pairs, own, said)
        return
    for name, table in pairs:
        source = registry.sources[name]
        if source.has_own_reader:
            continue
        words = (known_words(registry.tables[one] for one in source.tables) | _words_in(said)) - INGREDIENTS
        if "comment" in table.schema().columns:
            words -= frozenset(plain(word) for word in row_words("remarks"))
        yield from as_book(candidate, seen, registry, source, table, words, said, turned=way == TURNED)


def _as_table(
    candidate: Candidate,
    seen: Recognised,
    registry: Registry,
    pairs: list[tuple[str, Table]],
    own: Source | None,
    said: Mapping[str, str],
) -> Iterator[Tried]:
    known = known_words(one for _, one in pairs) | _words_in(said)
    file = with_headings(candidate, seen, known)
    if not own and _is_headless(file, known):
        raise FileRefused(f"{candidate.name}: holds no row of headings.")
    sample = _sample(file, own or Source(name="", title="", tables=()))
    if not own and not sample.is_empty() and book_rows.are_units(_first_row(sample)):
        raise FileRefused(f"{candidate.name}: holds units below its headings.")
    if not own and not sample.is_empty() and book_rows.are_subheadings(sample.columns, _first_row(sample)):
        raise FileRefused(f"{candidate.name}: holds headings in two rows.")
    if not own and book.numbered_groups(_as_rows(sample), 0, known):
        raise FileRefused(f"{candidate.name}: holds groups of headings with numbers.")
    found = {heading: cells_of(sample[heading]) for heading in sample.columns}
    groups = _side_by_side(sample)
    is_uneven = _uneven(sample, groups)
    for name, table in pairs:
        source = registry.sources[name]
        # Of tables side by side, one that has all by itself is meant, and nothing is taken from the others.
        sides = [
            guess_for(registry, source, table, sample.select(side), _only(found, side), said, file) for side in groups
        ]
        whole = [guess for guess in sides if not guess.fit.missing and guess.fit.is_near]
        apart = sides if is_uneven else [guess_for(registry, source, table, sample, found, said, file)]
        for guess in whole or apart:
            yield Tried(file=file, is_book=False, labels=(), headings=sample.columns, guess=guess)


def _as_rows(rows: pl.DataFrame) -> list[Row]:
    """The headings and the rows below them."""
    return [(0, rows.columns), *((n, [cell or "" for cell in row]) for n, row in enumerate(rows.rows(), 1))]


def _first_row(rows: pl.DataFrame) -> list[str]:
    return [(cell or "").strip() for cell in rows.row(0)]


def _words_in(said: Mapping[str, str]) -> frozenset[str]:
    """What the answers may name headings by."""
    parts = {part for answer in said.values() for part in answer.split("+") if not re.search(r"\d", part)}
    return frozenset(filter(None, map(plain, parts)))


def _side_by_side(rows: pl.DataFrame) -> list[list[str]]:
    """Groups of two headings or more, where columns without any cell part them; none where there are not several."""
    groups: list[list[str]] = [[]]
    for heading in rows.columns:
        if is_nameless(heading) and (rows[heading].fill_null("").str.strip_chars() == "").all():
            groups.append([])
        else:
            groups[-1].append(heading)
    groups = [group for group in groups if group]
    return groups if len(groups) > 1 and all(len(group) > 1 for group in groups) else []


def _uneven(rows: pl.DataFrame, groups: list[list[str]]) -> bool:
    """Whether groups side by side are of different length, so that a row of one is none of the other."""
    filled = [
        rows.select(pl.any_horizontal(pl.col(h).fill_null("").str.strip_chars() != "" for h in group)).to_series()
        for group in groups
    ]
    return any(not one.equals(filled[0]) for one in filled[1:])


def _only(found: Mapping[str, Cells], headings: list[str]) -> dict[str, Cells]:
    return {heading: found[heading] for heading in headings}


def _is_headless(file: SourceFile, known: frozenset[str]) -> bool:
    """The row that would be taken for the headings is one like the others: with numbers, and no word that is known."""
    cells = file.looked_for
    return (
        bool(cells) and not any(is_known(cell, known) for cell in cells) and any(cell[:1].isdecimal() for cell in cells)
    )


def _pairs(registry: Registry, plugin: str | None, table: str | None) -> list[tuple[str, Table]]:
    if plugin is not None and plugin not in registry.sources:
        raise SettingsError(f"There is no plugin '{plugin}'; there are: {', '.join(sorted(registry.sources))}.")
    pairs = [
        (source.name, registry.tables[name])
        for source in registry.sources.values()
        for name in source.tables
        if plugin in (None, source.name) and table in (None, name) and unfit_model(registry.tables[name]) is None
    ]
    if not pairs:
        filled = sorted({n for s in registry.sources.values() if plugin in (None, s.name) for n in s.tables})
        who = f"Plugin '{plugin}' fills" if plugin else "There is"
        raise SettingsError(f"{who} no table '{table}'; there are: {', '.join(filled)}.")
    return pairs


def _sample(file: SourceFile, reader: Source) -> pl.DataFrame:
    """The first rows below the headings."""
    empty = pl.DataFrame(schema=dict.fromkeys(reader.headings_of(file), pl.String))
    first = next((batch.rows for batch in reader.batches_of(file) if not batch.rows.is_empty()), empty)
    return first.head(SAMPLE_ROWS)
