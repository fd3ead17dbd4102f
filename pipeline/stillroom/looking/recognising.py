"""What kind of file it is, where its headings stand, and which source and table they fit best."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from fnmatch import fnmatchcase
from itertools import pairwise
from typing import Final

import polars as pl

from stillroom.errors import FileRefused, SettingsError
from stillroom.house.model import SourceSettings
from stillroom.intake import book
from stillroom.intake.planning import Candidate
from stillroom.intake.shaping import AROUND, row_words
from stillroom.looking.guesses import Guess, guessed, with_labels
from stillroom.looking.handwriting import encoding_of
from stillroom.looking.headings import Cells, Fit, cells_of, fit, heading_row, is_known, known_words
from stillroom.looking.words import plain, words_of
from stillroom.objects import Source, SourceFile
from stillroom.plugins.registry import Registry, unfit_model
from stillroom.reading import delimited, workbook
from stillroom.reading.containers import GZIP, ZIP, is_workbook
from stillroom.reading.grids import Grid, read_grid
from stillroom.reading.kinds import kind_of
from stillroom_schemas import fields
from stillroom_schemas.table import Table

SAMPLE_ROWS: Final = 200
PLAIN: Final = "a table under headings"
BOOK: Final = "a book of blocks"
TURNED: Final = "a book with a record a column"
LONGEST_LABEL: Final = 40
INGREDIENTS: Final = frozenset(word for column in ("sugar_pct", "acid_pct", "allergens") for word in words_of(column))
"""Words for a column that may as well be an item: 'Zucker' at the beginning of a line is no label."""
TO_BE_NAMED: Final = ("cp1252", "utf-16-le", "utf-16-be")
"""Encodings that no mark in the file tells the reader."""


@dataclass(frozen=True, kw_only=True)
class Recognised:
    """What a file is."""

    kind: str
    """'delimited text', 'JSON lines', 'a workbook', 'Parquet', or what a plugin of its own reads."""
    packed: str | None
    """'gzip' or 'zip'."""
    encoding: str | None
    """Of delimited text."""
    separator: str | None = None
    sheet: str | None = None
    sheets: int = 0
    sheets_alike: tuple[str, ...] = ()
    """Other sheets with the same headings."""
    sheets_unlike: tuple[str, ...] = ()
    """Other sheets that show something, under other headings."""
    heading_row: int = 1
    """Rows above it are passed over."""
    headings: tuple[str, ...] = ()
    within: tuple[str, ...] = ()
    """The only sheets to think of; empty: all."""

    def may_read(self, sheet: str) -> bool:
        """Whether a sheet is one to think of."""
        return not self.within or sheet in self.within


def recognised(
    candidate: Candidate, claimed: SourceSettings | None, reader: Source | None, within: tuple[str, ...] = ()
) -> Recognised:
    """The kind of the file and its encoding; `reader` is the source that is to read it, where that is known.

    Raises:
        FileRefused: no such file, or none that can be read as a table.
    """
    file = SourceFile(path=candidate.path, name=candidate.name)
    if reader is not None and reader.has_own_reader:
        return Recognised(kind=f"what plugin '{reader.name}' reads", packed=None, encoding=None)
    kind = kind_of(file)
    encoding = None
    if kind == "delimited text":
        encoding = claimed.encoding if claimed and claimed.encoding != "utf-8" else encoding_of(file)
        if encoding is None:
            raise FileRefused(
                f"{candidate.name}: is neither UTF-8 nor cp1252; save it as UTF-8, or name its encoding under its "
                "[[source]] in stillroom.toml."
            )
    return Recognised(kind=kind, packed=_packing(file, kind), encoding=encoding, within=within)


def own_reader(candidate: Candidate, registry: Registry) -> Source | None:
    """The source, of those that read a kind of file of their own, that finds headings in this one."""
    file = SourceFile(path=candidate.path, name=candidate.name)
    for source in registry.sources.values():
        if source.has_own_reader:
            try:
                source.headings_of(file)
            except Exception:  # it is not its kind, whatever its code says of that
                continue
            return source
    return None


def _packing(file: SourceFile, kind: str) -> str | None:
    with file.path.open("rb") as stream:
        start = stream.read(4)
        if start.startswith(GZIP):
            return "gzip"
        bare_workbook = kind == "a workbook" and start in ZIP and is_workbook(file, stream)
    return "zip" if start in ZIP and not bare_workbook else None


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
    tried: list[_Tried] = []
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
        return fit, _pinned_book(best, settings, seen), _seen_as_book(best, seen)
    seen = as_read(seen, best.file, fit.source)
    return fit, _pinned(best.file, settings, fit.table, seen), seen


def _names_around(said: Mapping[str, str]) -> bool:
    """Whether an answer names what stands around the rows of a book: its title, its sheet."""
    return any(place in answer for answer in said.values() for place in AROUND)


@dataclass(frozen=True, kw_only=True)
class _Tried:
    """One way to read the file into one table."""

    file: SourceFile
    is_book: bool
    labels: tuple[str, ...]
    headings: list[str]
    guess: Guess
    sheets: tuple[str, ...] = ()
    """Sheets that can be read alike."""
    way: book.Way = field(default_factory=lambda: book.Way(labels=frozenset()))


def _tried(
    candidate: Candidate,
    seen: Recognised,
    registry: Registry,
    pairs: list[tuple[str, Table]],
    own: Source | None,
    said: Mapping[str, str],
    way: str,
) -> Iterator[_Tried]:
    """The file as a plain table, or as a book, fitted to each of the tables."""
    if way == PLAIN:
        file = _found(candidate, seen, known_words(one for _, one in pairs))
        if not own and _is_headless(file, known_words(one for _, one in pairs)):
            raise FileRefused(f"{candidate.name}: holds no row of headings.")
        sample = _sample(file, own or Source(name="", title="", tables=()))
        if not own and not sample.is_empty() and book.are_units([cell or "" for cell in sample.row(0)]):
            raise FileRefused(f"{candidate.name}: holds units below its headings.")
        found = {heading: cells_of(sample[heading]) for heading in sample.columns}
        groups = _side_by_side(sample)
        for name, table in pairs:
            source = registry.sources[name]
            # Of tables side by side, one that has all by itself is meant, and nothing is taken from the others.
            sides = [_guess(registry, source, table, sample.select(side), _only(found, side), said) for side in groups]
            whole = [guess for guess in sides if not guess.fit.missing and guess.fit.is_near]
            apart = sides if _uneven(sample, groups) else [_guess(registry, source, table, sample, found, said)]
            for guess in whole or apart:
                yield _Tried(file=file, is_book=False, labels=(), headings=sample.columns, guess=guess)
        return
    for name, table in pairs:
        source = registry.sources[name]
        if source.has_own_reader:
            continue
        words = known_words(registry.tables[one] for one in source.tables) - INGREDIENTS
        if "comment" in table.schema().columns:
            words -= frozenset(plain(word) for word in row_words("remarks"))
        yield from _as_book(candidate, seen, registry, source, table, words, said, turned=way == TURNED)


def _side_by_side(rows: pl.DataFrame) -> list[list[str]]:
    """Groups of two headings or more, where columns without any cell part them; none where there are not several."""
    groups: list[list[str]] = [[]]
    for heading in rows.columns:
        if heading.startswith("(column ") and (rows[heading].fill_null("").str.strip_chars() == "").all():
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


def _guess(
    registry: Registry,
    source: Source,
    table: Table,
    rows: pl.DataFrame,
    found: Mapping[str, Cells],
    said: Mapping[str, str],
) -> Guess:
    """How the file fits a table; where its rows may be about rows of another table of the file, with these."""
    guess = guessed(fit(source, table, found), rows, found, said)
    for reference in table.references:
        partner = registry.tables[reference.table]
        if reference.columns == ("batch",) and partner.name in source.tables:
            guess = with_labels(guess, guessed(fit(source, partner, found), rows, found), said)
    return guess


def _as_book(
    candidate: Candidate,
    seen: Recognised,
    registry: Registry,
    source: Source,
    table: Table,
    words: frozenset[str],
    said: Mapping[str, str],
    *,
    turned: bool,
) -> Iterator[_Tried]:
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
            file = replace(file, separator=_found(candidate, seen, words).separator)
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
) -> _Tried | None:
    """A sheet as a book of one table, read in one way; None where it has no line."""
    rows = next(book.read_batches(file, way)).rows
    if rows.is_empty():
        return None
    found = {h: cells_of(rows[h]) for h in rows.columns if h not in AROUND}
    guess = _guess(registry, source, table, rows, found, said)
    return _Tried(file=file, is_book=True, labels=(), headings=rows.columns, guess=guess, way=way)


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


def _is_headless(file: SourceFile, known: frozenset[str]) -> bool:
    """The row that would be taken for the headings is one like the others: with numbers, and no word that is known."""
    cells = file.looked_for
    return (
        bool(cells) and not any(is_known(cell, known) for cell in cells) and any(cell[:1].isdecimal() for cell in cells)
    )


def _labels(grid: Grid, words: frozenset[str]) -> Iterator[str]:
    """Cells that are words for a heading, as they are written, and words before a colon."""
    for _, cells in grid.rows:
        for cell in cells:
            before = book.NUMBERED.sub("", cell.partition(":")[0].strip())
            if before and len(before) <= LONGEST_LABEL and is_known(before, words):
                yield before


def _pinned_book(best: _Tried, settings: SourceSettings, seen: Recognised) -> SourceSettings:
    mapped = {heading.casefold() for several in settings.columns.values() for heading in several}
    left = tuple(label for label in best.labels if label.casefold() not in mapped)
    settings = settings.model_copy(update={"labels": left})
    if seen.kind != "a workbook":
        return settings.model_copy(update={"separator": best.file.separator})
    return settings.model_copy(update={"sheet": best.sheets})


def _seen_as_book(best: _Tried, seen: Recognised) -> Recognised:
    shown = tuple(heading for heading in best.headings if heading not in AROUND)
    seen = replace(seen, headings=shown, separator=best.file.separator)
    if seen.kind != "a workbook":
        return seen
    plain = replace(best.file, sheet=None)
    others = tuple(
        name for name in workbook.sheets_meant(plain, ("*",)) if name not in best.sheets and seen.may_read(name)
    )
    alike = tuple(name for name in best.sheets if name != best.file.sheet)
    sheets = len(workbook.sheet_names(plain))
    return replace(seen, sheet=best.file.sheet, sheets=sheets, sheets_alike=alike, sheets_unlike=others)


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


def _found(candidate: Candidate, seen: Recognised, known: frozenset[str]) -> SourceFile:
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


def _sample(file: SourceFile, reader: Source) -> pl.DataFrame:
    """The first rows below the headings."""
    empty = pl.DataFrame(schema=dict.fromkeys(reader.headings_of(file), pl.String))
    first = next((batch.rows for batch in reader.batches_of(file) if not batch.rows.is_empty()), empty)
    return first.head(SAMPLE_ROWS)


def _pinned(file: SourceFile, settings: SourceSettings, table: Table, seen: Recognised) -> SourceSettings:
    """The settings, with separator or sheets named where the reader would not find the same by itself."""
    headings = [heading for several in settings.columns.values() for heading in several]
    looked_for = frozenset(h.casefold() for h in (*headings, *table.schema().columns))
    free = replace(file, looked_for=looked_for, separator=None, sheet=None)
    if file.separator is not None and delimited.found_top(free).separator != file.separator:
        return settings.model_copy(update={"separator": file.separator})
    if file.sheet is not None and (seen.within or not _finds(free, file.sheet)):
        return settings.model_copy(update={"sheet": sheets_to_name(seen)})
    return settings


def sheets_to_name(seen: Recognised) -> tuple[str, ...]:
    """The sheet that is read and all with the same headings, as names or as the one pattern that means just these."""
    assert seen.sheet is not None
    alike = (seen.sheet, *seen.sheets_alike)
    if len(alike) == 1:
        return alike
    if not (seen.sheets_unlike or seen.within):
        return ("*",)
    pieces = [re.split(r"(\d+)", name) for name in alike]
    if len({len(one) for one in pieces}) > 1:
        return alike
    numbers = [set(column) for column in zip(*pieces, strict=True)]
    if any(len(some) > 1 for some in numbers[::2]):  # words differ
        return alike
    pattern = "".join(some.pop() if len(some) == 1 else "*" for some in numbers)
    others = any(fnmatchcase(name.casefold(), pattern.casefold()) for name in seen.sheets_unlike)
    return alike if others else (pattern,)


def _finds(file: SourceFile, sheet: str) -> bool:
    """Whether the reader finds that sheet by itself."""
    try:
        return workbook.chosen_sheet(file).name == sheet
    except FileRefused:  # several are alike
        return False


def as_read(seen: Recognised, file: SourceFile, source: Source) -> Recognised:
    """What is seen once it is known which headings to look for, by the reader that the intake uses."""
    seen = replace(seen, headings=tuple(source.headings_of(file)))
    if seen.kind == "delimited text":
        top = delimited.found_top(file)
        return replace(seen, separator=top.separator, heading_row=top.row_number)
    if seen.kind == "a workbook":
        sheet = workbook.chosen_sheet(file)
        alike = tuple(filter(seen.may_read, workbook.sheets_like(file, sheet)))
        return replace(
            seen,
            sheet=sheet.name,
            sheets=len(workbook.sheet_names(file)),
            sheets_alike=alike,
            sheets_unlike=tuple(
                name
                for name in workbook.sheets_meant(file, ("*",))
                if name not in (sheet.name, *alike) and seen.may_read(name)
            ),
            heading_row=sheet.heading_row,
        )
    return seen
