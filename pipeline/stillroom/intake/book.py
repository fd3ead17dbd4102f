"""Books kept by hand: the cells of a sheet -> rows under headings, each with its number.

A book is a sheet of blocks. A block may have a title ('Marsh Sour v2'), labels with what they say ('Yield | 700 ml'), a
row of headings, lines, and remarks below them. Blocks stand one below another, or side by side under one another's
headings. What stands around the lines becomes headings of its own: `(title)`, `(sheet)`, `(file)`, `(notes)`, and each
label; the settings say which column each of them fills.

Pure functions of cells: nothing is guessed here but by rules that are written down here.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from itertools import pairwise
from typing import Final

import polars as pl

from stillroom.intake.book_rows import (
    LONGEST_LABEL,
    NUMBER,
    Row,
    are_subheadings,
    are_units,
    day_first,
    filled_in,
    first_of,
    holds_amount_of,
    is_amount_of,
    is_card,
    is_heading_row,
    is_label,
    is_remark,
    is_stacked,
    is_title,
    labelled,
    looks_like_headings,
    with_groups,
    with_units,
    without_bullet,
)
from stillroom.intake.parting import VERSION
from stillroom.intake.shaping import AROUND, FILE, NOTES, SHEET, TITLE
from stillroom.objects import SourceFile, TextBatch
from stillroom.reading.grids import Grid, read_grid
from stillroom.reading.nameless import called

NUMBERED: Final = re.compile(r"(?<=[^\W\d_])[\s#.]*\b\d{1,2}$")
IN_GROUPS: Final = re.compile(r"(.*[^\W\d_])[\s#.]+(\d{1,2})$")


@dataclass
class Block:
    """One block, while its rows are read."""

    title: str = ""
    labels: dict[str, str] = field(default_factory=dict)
    headings: list[str] = field(default_factory=list)
    lines: list[Row] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)
    has_own_headings: bool = False
    began: int = 0
    """Number of the row of its first label."""


@dataclass(frozen=True, kw_only=True)
class Way:
    """How a book is read."""

    labels: frozenset[str]
    """What may stand as a label or as a heading, in small letters."""
    turned: bool = False
    """A record stands in a column, not in a row."""
    blocks_with: frozenset[str] = frozenset()
    """Headings in small letters: blocks that lack one of them are of another table, and passed over."""


def read_headings(file: SourceFile, way: Way) -> list[str]:
    """The headings of the rows that `read_batches` gives."""
    return next(read_batches(file, way)).rows.columns


def read_batches(file: SourceFile, way: Way) -> Iterator[TextBatch]:
    """The lines of all blocks as one batch.

    Args:
        file: delimited text or a workbook's sheet.
        way: how it is read.

    Raises:
        FileRefused: it cannot be read.
    """
    grid = read_grid(file)
    found = _of_the_sheet(blocks(_turned(grid.rows) if way.turned else grid.rows, way.labels), file.sheet)
    around = {SHEET: file.sheet or "", FILE: file.path.stem}
    yield _batch([block for block in found if has_headings(block, way.blocks_with)], grid, around)


def has_headings(block: Block, wanted: frozenset[str]) -> bool:
    """Whether a block is one of those that are meant."""
    return wanted <= {heading.casefold() for heading in block.headings}


def _turned(rows: Sequence[Row]) -> list[Row]:
    """Columns as rows, each with the number of its column."""
    width = max((len(cells) for _, cells in rows), default=0)
    columns = [[cells[place] if place < len(cells) else "" for _, cells in rows] for place in range(width)]
    return [(place, cells) for place, cells in enumerate(columns, 1) if any(cells)]


def _of_the_sheet(found: list[Block], sheet: str | None) -> list[Block]:
    """In a sheet that is named as its first block is, titles without headings of their own part the lines of that."""
    first = found[0] if found else Block()
    if not first.has_own_headings or sheet is None or _plain(first.title) != _plain(sheet):
        return found
    return [
        block if block.has_own_headings else replace(block, title=first.title, labels={**first.labels, **block.labels})
        for block in found
    ]


def _plain(title: str) -> str:
    """A title without its version."""
    return VERSION.sub("", title).strip().casefold()


def blocks(rows: Sequence[Row], labels: frozenset[str]) -> list[Block]:
    """The blocks of a sheet's filled rows."""
    rows = [(number, without_bullet(cells)) for number, cells in rows]
    top, below, regions = _regions(rows, labels)
    if len(regions) < 2:
        return _stacked(rows, labels)
    head = _stacked(top, labels)
    shared = head[-1] if head else Block()
    found = []
    for places in regions:
        part = [(number, [cells[place] if place < len(cells) else "" for place in places]) for number, cells in below]
        own = sum(1 for place in places if all(place in others for others in regions))
        for block in _stacked([row for row in part if any(row[1][own:])], labels):
            labelled = {**shared.labels, **block.labels}
            found.append(replace(block, labels=labelled, title=block.title or shared.title))
    return found


def _regions(rows: Sequence[Row], labels: frozenset[str]) -> tuple[list[Row], list[Row], list[list[int]]]:
    """The rows above, those of the blocks, and the places of each block's cells with those that all blocks share."""
    width = max((len(cells) for _, cells in rows), default=0)
    for index, (number, cells) in enumerate(rows):
        if (grouped := numbered_groups(rows, index, labels)) is not None:
            heads, shared, regions = grouped
            return list(rows[:index]), [(number, heads), *rows[index + 1 :]], [[*shared, *one] for one in regions]
        above = rows[index - 1][1] if index else []
        titles = [place for place in filled_in(above) if not is_label(above[place], labels)]
        repeats = _repeats(cells)
        if len(repeats) < 2 and not (len(titles) > 1 and titles[0] > 0 and looks_like_headings(cells, labels)):
            continue
        titled = len(titles) > 1 and len(titles) >= len(repeats)
        rows = _headings_lifted(rows, index, min([*titles, *repeats])) if titled and repeats else rows
        starts = titles if titled else repeats
        shared = list(range(min(starts[0], repeats[0] if repeats else width)))
        ends = [*starts[1:], width]
        regions = [[*shared, *range(start, end)] for start, end in zip(starts, ends, strict=True)]
        first = index - 1 if titled else index
        number, heads = rows[index]
        if repeats:
            heads = [NUMBERED.sub("", cell) if place in starts else cell for place, cell in enumerate(heads)]
        below = [*rows[first:index], (number, heads), *rows[index + 1 :]]
        return list(rows[:first]), below, regions
    return _regions_by_titles(rows, labels, width) or ([], list(rows), [list(range(width))])


def numbered_groups(
    rows: Sequence[Row], index: int, labels: frozenset[str]
) -> tuple[list[str], list[int], list[list[int]]] | None:
    """Headings in groups that numbers tell apart: 'Ingredient 1', 'Amount 1', 'Ingredient 2', 'Amount 2'.

    The first of each group is to stand above names, or above lines that hold their amounts: else the number may itself
    say something, such as which sample.

    Returns:
        The headings without these numbers, the places of all others, and those of each group; None where there are no
        groups.
    """
    heads = list(rows[index][1])
    groups: dict[str, dict[str, int]] = {}
    for place, found in enumerate(map(IN_GROUPS.match, heads)):
        if found is not None:
            groups.setdefault(found[2], {})[found[1].casefold()] = place
            heads[place] = found[1]
    kinds = [[*group] for group in groups.values()]
    if len(kinds) < 2 or any(kind != kinds[0] for kind in kinds) or kinds[0][0] not in labels:
        return None
    regions = [[*group.values()] for group in groups.values()]
    firsts = {region[0] for region in regions}
    below = [cells[p] for _, cells in rows[index + 1 :] for p in firsts if p < len(cells) and cells[p]]
    if not all(map(holds_amount_of, below)) and (len(kinds[0]) < 2 or any(map(NUMBER.match, below))):
        return None
    grouped = {place for region in regions for place in region}
    return heads, [place for place in range(len(heads)) if place not in grouped], regions


def _headings_lifted(rows: Sequence[Row], index: int, shared: int) -> Sequence[Row]:
    """Headings that stand once, beside the titles of the groups of headings below them, among those headings."""
    (above, titles), (number, cells) = rows[index - 1], rows[index]
    if any(cells[:shared]) or not any(titles[:shared]):
        return rows
    lifted = [(above, ["" if n < shared else cell for n, cell in enumerate(titles)])]
    return [*rows[: index - 1], *lifted, (number, [*titles[:shared], *cells[shared:]]), *rows[index + 1 :]]


def _repeats(cells: Sequence[str]) -> list[int]:
    """Where each group of headings begins, if the same headings stand several times in a row.

    A number behind a heading may tell the groups apart where another heading repeats as it is: 'Batch 1', 'ml',
    'Batch 2', 'ml'.
    """
    plain = [cell.casefold() for cell in cells]
    if any(cell and plain.count(cell) > 1 for cell in plain):
        plain = [NUMBERED.sub("", cell) for cell in plain]
    several = [place for place, cell in enumerate(plain) if cell and plain.count(cell) > 1]
    if not several or any(NUMBER.match(plain[place]) for place in several):
        return []
    first = plain[several[0]]
    starts = [place for place, cell in enumerate(plain) if cell == first]
    if not all(plain.count(plain[place]) == len(starts) for place in several):
        return []
    return starts


def _regions_by_titles(
    rows: Sequence[Row], labels: frozenset[str], width: int
) -> tuple[list[Row], list[Row], list[list[int]]] | None:
    """Blocks side by side without headings: several titles in a row with room between them, and lines below."""
    for index, (_, cells) in enumerate(rows[:-1]):
        starts = filled_in(cells)
        below = filled_in(rows[index + 1][1])
        apart = all(after - before > 1 for before, after in pairwise(starts))
        if len(starts) < 2 or not apart or any(is_label(cells[place], labels) for place in starts):
            continue
        if len(below) >= 2 * len(starts) - 1 and set(starts) & set(below):
            ends = [*starts[1:], width]
            return (
                list(rows[:index]),
                list(rows[index:]),
                [list(range(start, end)) for start, end in zip(starts, ends, strict=True)],
            )
    return None


def _stacked(rows: Sequence[Row], labels: frozenset[str]) -> list[Block]:
    """Blocks one below another; labels above the first title are said of all of them."""
    shared = Block()
    found = [shared]
    for index, (number, cells) in enumerate(rows):
        filled = filled_in(cells)
        now = found[-1]
        after = rows[index + 1] if index + 1 < len(rows) else None
        if now.headings and now.has_own_headings and not now.lines and are_units(cells):
            now.headings = with_units(now.headings, cells)
        elif now.headings and now.has_own_headings and not now.lines and are_subheadings(now.headings, cells):
            now.headings = with_groups(now.headings, cells)
        elif is_heading_row(cells, number, after, labels):
            if now.lines and now.has_own_headings:
                now = Block(title=now.title, labels=dict(now.labels))
                found.append(now)
            now.notes += [" ".join(filter(None, line)) for _, line in now.lines]  # above its headings nothing is a line
            now.lines, now.headings, now.has_own_headings = [], _named(cells), True
        elif not (now.headings and len(filled) > LONGEST_LABEL) and (said := labelled(cells, labels)) is not None:
            if bool(now.headings) == bool(now.lines) and now.labels.keys() & said.keys():  # the next card, or form
                now = Block()
                found.append(now)
            now.began = now.began or number
            now.labels |= said
        elif len(filled) == 1 and is_remark(cells[filled[0]]):
            now.notes.append(cells[filled[0]])
        elif len(filled) == 1 and not now.has_own_headings and is_amount_of(cells[filled[0]]):
            now.lines.append((number, cells))
        elif len(filled) == 1 and is_title(rows, index, labels):
            title = cells[filled[0]]
            if is_stacked(rows, index - 1) and now.title == first_of(rows[index - 1][1]):
                now.title = day_first(now.title, title)
            else:
                found.append(Block(title=title, headings=list(now.headings)))
        elif len(filled) == 1 and filled[0] == 0:
            now.notes.append(cells[0])
        else:
            now.lines.append((number, cells))
    if not any(block.lines or block.headings for block in found) and all(is_card(cells) for _, cells in rows):
        return [replace(block, lines=[(block.began, [])]) for block in found if len(block.labels) > 1]
    if not shared.lines and len(found) > 1:
        found = [replace(block, labels={**shared.labels, **block.labels}) for block in found[1:]]
    return found


def _named(cells: Sequence[str]) -> list[str]:
    """Headings, none empty and none twice."""
    found: list[str] = []
    for place, cell in enumerate(cells, 1):
        name = cell.rstrip(": ") or called(place)
        twice = sum(1 for other in found if other.casefold().partition(" (again")[0] == name.casefold())
        found.append(f"{name} (again {twice + 1})" if twice else name)
    return found


def _batch(found: Sequence[Block], grid: Grid, around: dict[str, str]) -> TextBatch:
    records: list[dict[str, str]] = []
    numbers: list[int] = []
    for block in found:
        facts = around | {TITLE: block.title, NOTES: " ".join(block.notes)} | block.labels
        for number, cells in block.lines:
            width = max(len(block.headings), len(cells))
            headings = block.headings + [called(place) for place in range(len(block.headings) + 1, width + 1)]
            record = dict(facts)
            for heading, cell in zip(headings, cells, strict=False):
                if cell or heading not in record:
                    record[heading] = cell
            records.append(record)
            numbers.append(number)
    order = sorted(range(len(records)), key=lambda place: numbers[place]) if len(found) == 1 else range(len(records))
    names = dict.fromkeys(name for record in records for name in record)
    names = dict.fromkeys((*AROUND, *names))
    columns = {name: [records[place].get(name, "") for place in order] for name in names}
    used = {n: v for n, v in columns.items() if any(v)}
    lines = len(set(numbers))
    return TextBatch(
        rows=pl.DataFrame(used, schema=dict.fromkeys(used, pl.String)),
        row_numbers=pl.Series([numbers[place] for place in order], dtype=pl.Int64),
        passed_over=max(0, grid.blank + len(grid.rows) - lines),
    )
