"""What one row of a book is: headings, units below them, a title, a label with what it says, or a line."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Final

import polars as pl

from stillroom.intake import amounts, months
from stillroom.intake.parting import DAY, quantity_in
from stillroom.intake.shaping import row_words
from stillroom.reading.nameless import is_nameless

LONGEST_LABEL: Final = 3  # cells of a label with what it says: 'Yield', '700', 'ml'
NUMBER: Final = re.compile(r"^[^\w]*\d")
BULLET: Final = re.compile(r"^[-–•*·] +(?=\S)")
LISTS: Final = re.compile(r"[,;|]\s| [/·•–-] ")
DAY_AND_NAME: Final = " / "
"""Between the day and the name of a title that stands in two rows."""
Row = tuple[int, list[str]]


def is_label(cell: str, labels: frozenset[str]) -> bool:
    """Whether a cell is one of the labels, as it stands or with a colon behind it."""
    return cell.rstrip(": ").casefold() in labels


def are_units(cells: Sequence[str]) -> bool:
    """Whether a row below headings says the units that are meant, and nothing else."""
    return any(cells) and all(amounts.is_unit_or_currency(cell.strip("()[] ")) for cell in cells if cell)


def are_subheadings(headings: Sequence[str], cells: Sequence[str]) -> bool:
    """Whether a row below headings parts some of them: 'netto' and 'brutto' below a 'Preis' that reaches over both."""
    filled = filled_in(cells)
    if not filled or filled[0] == 0 or any(NUMBER.match(cells[place]) for place in filled):
        return False
    groups = [_group(headings, place) for place in filled if place < len(headings) and is_nameless(headings[place])]
    return bool(groups) and all(group is not None and group in filled for group in groups)


def _group(headings: Sequence[str], place: int) -> int | None:
    """The place of the heading that reaches over a place."""
    return next((n for n in range(place, -1, -1) if not is_nameless(headings[n])), None)


def with_groups(headings: Sequence[str], cells: Sequence[str]) -> list[str]:
    """The headings, with what a row below says of those that it parts."""
    groups = [_group(headings, place) for place in range(len(headings))]
    return [
        f"{headings[group]} {cells[place]}" if group is not None and place < len(cells) and cells[place] else heading
        for place, (heading, group) in enumerate(zip(headings, groups, strict=True))
    ]


def with_units(headings: Sequence[str], cells: Sequence[str]) -> list[str]:
    """The headings, each with the unit below it in brackets."""
    return [
        f"{heading} ({cells[place].strip('()[] ')})" if place < len(cells) and cells[place] else heading
        for place, heading in enumerate(headings)
    ]


def is_card(cells: Sequence[str]) -> bool:
    """A line of a card says one thing: 'Yield | 700 ml' or 'Yield | 700 | ml'."""
    filled = filled_in(cells)
    return len(filled) < LONGEST_LABEL or (
        len(filled) == LONGEST_LABEL and amounts.unit_of(cells[filled[-1]]) is not None
    )


def is_remark(cell: str) -> bool:
    """'Note: serve long', 'Scale 1-9': no title."""
    before, colon, _ = cell.partition(":")
    if bool(colon) and before.strip().casefold() in (*row_words("remarks"), *row_words("method")):
        return True
    scale = re.match(r"(\w+)\W+\d+\D+\d", cell)
    return scale is not None and scale[1].casefold() in row_words("scales")


def is_amount_of(cell: str) -> bool:
    """'45 ml gin' in one cell is a line."""
    said, rest = quantity_in(cell, ",")
    return said is not None and bool(rest) and cell.startswith(said)


def holds_amount_of(cell: str) -> bool:
    """'45 ml gin', or 'gin 45 ml'."""
    said, rest = quantity_in(cell, ",")
    return said is not None and bool(rest)


def is_title(rows: Sequence[Row], index: int, labels: frozenset[str]) -> bool:
    """A cell alone in its row begins a block where lines, labels or headings stand right below it."""
    number, own = rows[index]
    below = index + 2 if is_aside(rows, index + 1) else index + 1
    if below >= len(rows) or is_aside(rows, index):
        return False
    if is_stacked(rows, index) and is_title(rows, index + 1, labels):
        return True
    after, cells = rows[below]
    heads = is_heading_row(cells, after, rows[below + 1] if below + 1 < len(rows) else None, labels)
    if heads or not own[0]:
        return heads
    has_labels = labelled(cells, labels) is not None
    alone = len(filled_in(cells)) == 1 and not is_amount_of(first_of(cells))
    # Below a blank row, only what has labels of its own is a block.
    return has_labels or (not alone and after == number + below - index)


def is_aside(rows: Sequence[Row], index: int) -> bool:
    """Whether a row lists something right below a title: 'Coupe / egg white / dry shake' is no name."""
    if not 0 < index < len(rows):
        return False
    (above, title), (number, own) = rows[index - 1], rows[index]
    alone = len(filled_in(title)) == len(filled_in(own)) == 1 and number == above + 1
    return alone and LISTS.search(first_of(own)) is not None


def is_stacked(rows: Sequence[Row], index: int) -> bool:
    """Whether a row and the one right below hold one cell each, of which one is a day: a name and its day."""
    if index < 0 or index + 1 >= len(rows):
        return False
    (number, own), (after, below) = rows[index], rows[index + 1]
    alone = len(filled_in(own)) == len(filled_in(below)) == 1 and after == number + 1
    return alone and is_day_alone(first_of(own)) != is_day_alone(first_of(below))


def is_day_alone(text: str) -> bool:
    """Whether a text is a day, with a weekday before it or without, and no more."""
    bare = months.without_weekday(pl.Series([text]))[0]
    found = DAY.fullmatch(bare.strip(" .,:"))
    return found is not None and bool(re.search(r"\d.*\d", bare))


def day_first(one: str, other: str) -> str:
    """A title of two rows: the day, and the name."""
    return f"{one}{DAY_AND_NAME}{other}" if is_day_alone(one) else f"{other}{DAY_AND_NAME}{one}"


def is_heading_row(cells: Sequence[str], number: int, after: Row | None, labels: frozenset[str]) -> bool:
    """Two labels or more, as most of what is filled; or one label before names, with numbers below them."""
    filled = filled_in(cells)
    if len(filled) < 2 or any(NUMBER.match(cells[place]) and not is_label(cells[place], labels) for place in filled):
        return False
    known = labels | {*row_words("remarks")}  # beside another heading, such a word is one
    named = [
        place
        for place in filled
        if (is_label(cells[place], known) or amounts.unit_of(cells[place]) or months.is_weekday(cells[place]))
        and not cells[place].endswith(":")
    ]
    if not any(is_label(cells[place], labels) for place in named):
        return False
    if len(named) >= 2 and 2 * len(named) >= len(filled):
        return after is None or len(filled) > 2 or not is_label(first_of(after[1]), labels)
    if filled[0] not in named or len(filled) < 3 or after is None or after[0] != number + 1:
        return False
    below = after[1]
    numbers = [place for place in filled[1:] if place < len(below) and NUMBER.match(below[place])]
    return len(numbers) >= 2 and not is_label(first_of(below), labels)


def looks_like_headings(cells: Sequence[str], labels: frozenset[str]) -> bool:
    """Whether a row begins with a label, and has words alone."""
    filled = filled_in(cells)
    return len(filled) > 2 and is_label(cells[filled[0]], labels) and not any(NUMBER.match(cells[p]) for p in filled)


def labelled(cells: Sequence[str], labels: frozenset[str]) -> dict[str, str] | None:
    """Label -> what it says: 'Yield: 700 ml' in one cell, or 'Yield', '700', 'ml' beside one another."""
    filled = filled_in(cells)
    if not filled:
        return None
    said: dict[str, str] = {}
    label = ""
    for place in filled:
        cell = cells[place]
        before, colon, behind = cell.partition(":")
        if colon and behind.strip() and before.strip().casefold() in labels:
            label = before.strip()
            said[label] = behind.strip()
        elif is_label(cell, labels) and (label == "" or said.get(label)):
            label = cell.rstrip(": ")
            said[label] = ""
        elif label:
            said[label] = f"{said[label]} {cell}".strip()
        else:
            return None
    return said if any(said.values()) else None


def without_bullet(cells: Sequence[str]) -> list[str]:
    """A cell alone in its row without the mark of a list before it: '- 45 ml gin'."""
    return [BULLET.sub("", cell) for cell in cells] if len(filled_in(cells)) == 1 else list(cells)


def first_of(cells: Sequence[str]) -> str:
    """The first filled cell; empty where none is."""
    return next((cell for cell in cells if cell), "")


def filled_in(cells: Sequence[str]) -> list[int]:
    """The places of the filled cells."""
    return [place for place, cell in enumerate(cells) if cell]
