"""Which row holds the headings, which table they fit best, and which heading is likely meant for which column.

A heading that is a column's name is that column. Everything else is a suggestion, by the likeness of words and by
whether the cells below can be what the column holds; a suggestion is always shown as one.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Final

import polars as pl
from rapidfuzz import fuzz

from stillroom.house.model import Wide
from stillroom.intake import amounts, casting, months
from stillroom.intake.parting import VERSION
from stillroom.intake.shaping import AROUND, row_words
from stillroom.looking.cells import (
    DATE_LIKE,
    Cells,
)
from stillroom.looking.questions import named_headings
from stillroom.looking.words import plain, words_of
from stillroom.objects import Source
from stillroom.reading.nameless import is_nameless
from stillroom_schemas import fields
from stillroom_schemas.table import Table

LIKE: Final = 85.0  # of 100: below this a likeness of letters is chance ('Revenue' and 'venue' have 83)
SHORT: Final = 3  # letters, of which one makes another word
FIRST_WORD: Final = 87.0  # 'Prezzo conf.' is likely a price
UNIT_ALONE: Final = 86.0  # 'ml' above numbers
IN_HEADINGS: Final = (
    *("panelist", "attribute", "spec", "item", "preparation", "till_item"),
    *("made_on", "sold_at", "happened_on"),
)
"""Columns that the headings of a wide file may be."""
A_VERSION: Final = re.compile(r"(?i)\bv(?:er(?:sion)?)?[. ]?\d{1,2}\b")
ACROSS: Final = ("panelist", "attribute")
"""What the headings of a tasting grid may be."""
SAID_ONCE: Final = ("yield_amount", "pack_amount")
"""Numbers of which a row has one: no heading has its own."""
AMOUNTS: Final = ("amount", "made_amount", "yield_amount", "pack_amount")
TELLING: Final = {
    "ingredient": ("pack_cost",),
    "batch": ("made_on",),
    "sale": ("quantity", "net_amount"),
    "tasting": ("panelist", "attribute", "score"),
}
"""Table -> columns without any of which a file is none of it, unless its keeper says so."""
FIRST_WORDS: Final = 12  # of a column's: behind them stand the words of other languages, in no order
SURE: Final = 85.0  # columns that may be empty are only filled by headings as likely as this
NUMBERED: Final = re.compile(
    r"(?:^|\b|[a-zø])(?:nr|no|num|nummer|number|numero|id|code|kod|kode|codigo|codice|sku|ref|plu|ean)$"
)
"""A heading of numbers or codes, which are no names."""
NAMES: Final = ("item", "spec", "preparation", "till_item", "panelist")
BY_PARTS: Final = 90.0  # below this a heading is likely by some of its words, and another with the same may be meant
TAX: Final = r"(?:iva|tva|mwst|ust|moms|mva|btw|dph|vat|tax|gst|áfa|alv|kdv|φπα)\b"
NET: Final = (
    r"(?i)\bnet|n[eé]to\b|\bht\b|\bex|hors|ohne|s/ ?iva|(?:sin|sem|sans|senza|uden|utan|zonder|bez|before|fără)\.? "
    + TAX
)
GROSS: Final = (
    r"(?i)gross|brutto?\b|lordo|\bttc\b|\bin[ck]l?\b|\bin[ck]l|c/ ?iva"
    r"|(?:con|com|avec|mit|med|met|inkl|s|z|with|cu)\.? " + TAX
)
MONEY: Final = ("net_amount", "pack_cost")
TAXED: Final = 70.0  # 'Ex VAT', 'inkl. MwSt' alone: money, if no other word is nearer


@dataclass(frozen=True, kw_only=True)
class Fit:
    """How a file's headings fit one table."""

    source: Source
    table: Table
    columns: dict[str, tuple[str, ...]]
    """Column -> heading, or the date's and the time's."""
    suggested: frozenset[str]
    """Columns whose heading goes by another name: somebody must look them over."""
    missing: tuple[str, ...]
    """Columns that every row needs, and no heading fits."""
    wide: Wide | None
    unfit: Mapping[str, str]
    """Column that is missing -> a heading that would fit it by its words, and an example of the cells that do not."""
    rivals: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    """Column that is missing -> headings that fit it equally well, the likeliest first."""
    kinds: tuple[tuple[str, ...], tuple[str, ...]] | None = None
    """Where no column says the kind, and the rows tell it: the drinks, and the preparations."""
    priced: bool = False
    """A heading that fills no column is one of prices."""
    losses: tuple[str, ...] = ()
    """Headings above amounts that may each be what a batch lost, and why."""
    across: tuple[str, ...] = ()
    """Headings above scores of which it is open whether they are people or what these were asked."""

    @property
    def rank(self) -> tuple[int, int, int, int]:
        """The greater, the better."""
        exact = len(self.columns) - len(self.suggested)
        schema = self.table.schema()
        needed = sum(fields.needed(schema.columns[name]) for name in self.columns)
        there = len(self.columns) + bool(self.losses)
        return there - len(self.missing), -len(self.missing), exact, needed

    def unused(self, headings: Iterable[str]) -> tuple[str, ...]:
        """Those that fill no column, without those that are no headings."""
        used = {heading for several in self.columns.values() for heading in several}
        return tuple(heading for heading in headings if heading not in used and not is_nameless(heading))

    @property
    def _buys(self) -> bool:
        """Of lines that a sheet or a title names, whether the heading above their amounts is rather one of packs."""
        [heading, *_] = self.columns.get("amount", ("",))
        around = {*AROUND} >= {*self.columns.get("spec", ("",))}
        return around and how_like(heading, "pack_amount") > how_like(heading, "amount")

    @property
    def is_near(self) -> bool:
        """Whether the table may be meant at all: one likely word is no reason, nor is a price list without prices."""
        schema = self.table.schema()
        turned = (self.wide.headings_are, self.wide.cells_are) if self.wide else ()
        telling = TELLING.get(self.table.name, ())
        if telling and not any(name in telling for name in (*self.columns, *turned, *self.rivals)):
            return False
        if self.priced and self.table.name == "spec_line" and ("spec" in self.missing or self._buys):
            return False  # an item, an amount and a price: a price list
        several = len(self.columns) > 1 or len(self.columns) > len(self.suggested)
        grid = bool(turned) and any(fields.needed(schema.columns[name]) for name in self.columns)
        return (several or grid) and len(self.missing) <= len(self.columns) + grid


def heading_row(rows: Sequence[tuple[int, list[str]]], known: frozenset[str]) -> tuple[int, list[str], int]:
    """(number, cells, how many are known words) of the row that most likely holds the headings.

    The one with most known words; where none has two, the first that fills as many cells as rows commonly do.
    """
    best = max(rows, key=lambda row: (_known(row[1], known), -row[0]))
    if _known(best[1], known) < 2:
        widths = [sum(1 for cell in cells if cell.strip()) for _, cells in rows]
        usual = max(set(widths), key=lambda width: (widths.count(width), width))
        best = next(row for row, width in zip(rows, widths, strict=True) if width >= usual)
    return *best, _known(best[1], known)


def _known(cells: list[str], known: frozenset[str]) -> int:
    return len({plain(cell) for cell in cells if is_known(cell, known)})


def is_known(cell: str, known: frozenset[str]) -> bool:
    """Whether a cell is a word for a heading, with a unit or without."""
    return plain(cell) in known or plain(amounts.without_unit(cell)) in known


def known_words(tables: Iterable[Table]) -> frozenset[str]:
    """All that a heading of these tables is commonly called."""
    return frozenset(word for table in tables for name in table.schema().columns for word in words_of(name))


def fit(source: Source, table: Table, found: Mapping[str, Cells], said: Mapping[str, str] | None = None) -> Fit:
    """How headings, and the cells found under them, fit a table at best.

    `said`: column -> what the file's keeper has answered: a heading that is named there is that column's.
    """
    schema = table.schema()
    likely = sorted(
        (
            (how_like(heading, name), -place, -spot, name, heading)
            for place, name in enumerate(schema.columns)
            for spot, (heading, cells) in enumerate(found.items())
            if cells.may_be(schema.columns[name])
            and not (schema.columns[name].dtype.type in (pl.Date, pl.Datetime) and amounts.unit_inside(heading))
        ),
        reverse=True,
    )
    chosen = dict(_answered(schema, found, said or {}))
    taken = {heading for several in chosen.values() for heading in several}
    exact = set()
    wanted = {n for n, column in schema.columns.items() if fields.needed(column)} | {*TELLING.get(table.name, ())}
    for likeness, _, _, name, heading in likely:
        if likeness < (1 if name in wanted else SURE) or name in chosen or heading in taken:
            continue
        chosen[name] = (heading,)
        taken.add(heading)
        if heading.casefold() == name.casefold():
            exact.add(name)
    _join_times(chosen, taken, found, schema)
    rivals = dict(_rivals({n: one for n, one in chosen.items() if n not in (said or {})}, taken, found, table))
    for name in rivals:
        taken.difference_update(chosen.pop(name))
    needed = [name for name, column in schema.columns.items() if fields.needed(column) or name in rivals]
    missing = [name for name in needed if name not in chosen]
    left = [heading for heading in found if heading not in taken and not is_nameless(heading)]
    wide = wide_of(missing, {heading: found[heading] for heading in left}, schema) if len(chosen) > 1 else None
    if wide is not None:
        missing = [name for name in missing if name not in (wide.headings_are, wide.cells_are)]
    return Fit(
        source=source,
        table=table,
        columns={name: chosen[name] for name in schema.columns if name in chosen},
        suggested=frozenset(chosen.keys() - exact),
        missing=tuple(missing),
        wide=wide,
        unfit=_unfit([n for n in missing if n not in rivals], {heading: found[heading] for heading in left}),
        rivals=rivals,
        priced=any(found[heading].numbers and how_like(heading, "pack_cost") > 0 for heading in left),
    )


def _answered(
    schema: Any, found: Mapping[str, Cells], said: Mapping[str, str]
) -> Iterator[tuple[str, tuple[str, ...]]]:
    """Columns of which the answers name headings."""
    by_name = {heading.casefold(): heading for heading in found}
    for name, column in schema.columns.items():
        if name in said and said[name] not in fields.allowed(column):
            several = named_headings(said[name], by_name)
            if several is not None:
                yield name, several


def _rivals(
    chosen: dict[str, tuple[str, ...]], taken: set[str], found: Mapping[str, Cells], table: Table
) -> Iterator[tuple[str, tuple[str, ...]]]:
    """Headings of numbers that every row needs, of which others say the same: 'Prix 2025' and 'Prix 2026'.

    Of prices with tax and without, the one without is meant: that is no question.
    """
    schema = table.schema()
    for name, headings in list(chosen.items()):
        likeness = how_like(headings[0], name)
        numbers = schema.columns[name].dtype.type in (pl.Float64, pl.Int64)
        wanted = fields.needed(schema.columns[name]) or name in TELLING.get(table.name, ())
        if not numbers or likeness >= BY_PARTS or not wanted:
            continue
        same = [
            heading
            for heading, cells in found.items()
            if heading not in taken
            and cells.filled
            and cells.digits
            and cells.may_be(schema.columns[name])
            and abs(how_like(heading, name) - likeness) < 1
        ]
        several = [heading for heading in found if heading in (*headings, *same)]
        net = [heading for heading in several if re.search(NET, heading) and not re.search(GROSS, heading)]
        if len(net) == 1 and all(re.search(GROSS, heading) for heading in several if heading not in net):
            taken.discard(headings[0])
            taken.add(net[0])
            chosen[name] = (net[0],)
        elif same:
            years = {heading: max(re.findall(r"20\d\d", heading), default="") for heading in several}
            yield name, tuple(sorted(several, key=lambda heading: years[heading], reverse=True))


def _unfit(missing: Sequence[str], left: Mapping[str, Cells]) -> dict[str, str]:
    """The likeliest of the headings that are left, where only their cells speak against them."""
    likely = {name: max(left, key=lambda heading: how_like(heading, name), default="") for name in missing}
    return {
        name: f"'{heading}' by its name, but not by its cells, such as '{left[heading].example}'"
        for name, heading in likely.items()
        if heading and how_like(heading, name) > 0
    }


def how_like(heading: str, column: str) -> float:
    """0 to 100: 100 the column's own name, then its common words in their order, then what is spelt nearly so."""
    if heading.casefold() == column.casefold():
        return 100.0
    words = words_of(column)
    if column in NAMES and NUMBERED.search(plain(heading)) and plain(heading) not in words:
        return 0.0
    if column == "line" and plain(heading) not in words:
        return 0.0  # 'Line cost'
    if column.endswith("_days") and casting.NO_DAYS.search(heading):
        return 0.0  # 'Shelf life (weeks)': its 2 are no two days
    if column in AMOUNTS and amounts.unit_of(heading) is not None:
        return UNIT_ALONE
    if column in MONEY and re.search(TAX, heading, re.I) and (re.search(NET, heading) or re.search(GROSS, heading)):
        return max(TAXED, _likeness(heading, words))
    if column.endswith("unit") and plain(heading).rpartition(" ")[2] in words:
        return FIRST_WORD  # 'Gebinde Einheit'
    return _likeness(heading, words)


def _likeness(heading: str, words: Sequence[str]) -> float:
    return max(_likeness_of(said, words) for said in {plain(heading), plain(amounts.without_unit(heading))})


def _likeness_of(said: str, words: Sequence[str]) -> float:
    if not said:
        return 0.0
    if said in words:
        return 99.0 - min(words.index(said), FIRST_WORDS) * 0.5
    spelt = max(fuzz.ratio(said, word) for word in words)
    nearly = float(spelt) - 10 if spelt >= LIKE and len(said) > SHORT else 0.0
    parts, first = set(said.split()), said.split()[0]
    if first in words and len(first) > SHORT:
        return max(nearly, FIRST_WORD - min(words.index(first), FIRST_WORDS) * 0.1)
    if nearly:
        return nearly
    inside = [place for place, word in enumerate(words) if len(word) > 1 and set(word.split()) <= parts]
    return 70.0 - min(min(inside), FIRST_WORDS) * 0.5 if inside else 0.0


def _join_times(chosen: dict[str, tuple[str, ...]], taken: set[str], found: Mapping[str, Cells], schema: Any) -> None:
    """Where a moment's heading holds days alone and another holds times of day, both together make the moment."""
    for name, headings in list(chosen.items()):
        cells = found[headings[0]]
        if schema.columns[name].dtype.type != pl.Datetime or not cells.filled or cells.with_time:
            continue
        times = [heading for heading, others in found.items() if heading not in taken and others.times]
        if times:
            chosen[name] = (headings[0], times[0])
            taken.add(times[0])


def wide_of(
    missing: Sequence[str], left: Mapping[str, Cells], schema: Any, *, week_is_known: bool = False
) -> Wide | None:
    """A column for each person, day or version: a number is missing, and what several headings may be.

    Weekdays are days where the rows say of which week.
    Where both who tasted and what was asked are missing, either may be in the headings: nothing is guessed.
    """
    numbers = [n for n in missing if schema.columns[n].dtype.type in (pl.Float64, pl.Int64)]
    counts = not numbers and "happened_on" in missing and "amount" in schema.columns
    numbers = ["amount"] if counts else numbers
    if len(numbers) != 1 or numbers[0] in SAID_ONCE:
        return None
    no_rows = (*row_words("totals"), *row_words("means"))
    left = {heading: cells for heading, cells in left.items() if heading.casefold().strip(" :") not in no_rows}
    several = [heading for heading, cells in left.items() if cells.filled and cells.may_be(schema.columns[numbers[0]])]
    if "item" in schema.columns and any(how_like(heading, "pack_cost") > 0 for heading in several):
        return None  # a list of prices, and no grid of drinks
    if "item" in schema.columns and any(cells.filled and cells.dates and cells.whole for cells in left.values()):
        return None  # something happened on days
    if len(several) < 2 or 2 * len(several) < len(left):
        return None
    if "version" in schema.columns and all(VERSION.fullmatch(heading) for heading in several):
        return Wide(headings_are="version", cells_are=numbers[0])
    if "version" in schema.columns and len({one[0] for one in map(A_VERSION.search, several) if one}) > 1:
        # A heading says two things, which version and of what: of the sample, where nothing else is open.
        open_names = [n for n in missing if n in IN_HEADINGS]
        return Wide(headings_are="spec", cells_are=numbers[0]) if open_names == ["spec"] else None
    weekdays = week_is_known and all(map(months.is_weekday, several))
    days = weekdays or all(pl.Series([heading]).str.contains(DATE_LIKE)[0] for heading in several)
    if counts and not days:
        return None
    names = [n for n in missing if n in IN_HEADINGS and (schema.columns[n].dtype.type == pl.Date) == days]
    tasted = [n for n in names if n in ACROSS]
    names = tasted or names
    return Wide(headings_are=names[0], cells_are=numbers[0]) if len(names) == 1 else None
