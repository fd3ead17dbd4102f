"""What a row leaves to the rows above it: names given once, ditto marks, a line's place, a label's number among equals.

Each is worked out from the file alone and put into the row, under the column's own name where the file has no heading
for it; so a row that is set aside and corrected keeps it.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING, Final

import polars as pl

from stillroom.intake import casting, months, weeks
from stillroom.intake.parting import VERSION, quantity_in
from stillroom.intake.shaping import AROUND, KIND
from stillroom.names import name_key
from stillroom.objects import TextBatch

if TYPE_CHECKING:
    from stillroom.intake.planning import Plan

DITTO: Final = (
    "“",
    "”",
    '"',
    '""',
    "''",
    "〃",
    "״",
    "do.",
    "dito",
    "ditto",
    "idem",
    "id.",
    '-"-',
    '–"–',
    '—"—',
    "-''-",
    "〟",
)
APART: Final = "\x1f"


class Above:
    """What the rows above say, batch after batch: names given once, and ditto marks."""

    def __init__(self, plan: Plan) -> None:
        headings = plan.layout.headings
        self.looks = plan.table.name != "sale"  # a till writes no ditto marks
        # A label is made of what was made and the day; in a book the day comes first.
        made = {column: tuple(reversed(several)) for column, several in plan.layout.counted.items()}
        given = {**headings, **made}
        self.filled = [h for column in plan.settings.fill_down for h in given.get(column, ()) if h != column]
        self.last: dict[str, str] = {}

    def filled_in(self, batch: TextBatch) -> TextBatch:
        """The batch with blanks filled from above where the settings say so, and ditto marks resolved."""
        rows = batch.rows
        if not self.looks:
            return batch
        dittos = [h for h in rows.columns if rows[h].str.strip_chars().is_in(list(DITTO)).any()]
        if not self.filled and not dittos:
            return batch
        columns: dict[str, pl.Series] = {}
        for heading in dittos:
            columns[heading] = self._carried(heading, rows[heading], blanks=False)
        rows = rows.with_columns(**columns)
        given = pl.Series([False]).new_from_index(0, rows.height)
        for heading in dict.fromkeys(self.filled):
            if heading not in rows.columns:
                continue
            cells = rows[heading]
            rows = rows.with_columns(self._carried(heading, cells, blanks=True, afresh=given).alias(heading))
            given = given | (cells.fill_null("").str.strip_chars() != "")
        return replace(batch, rows=rows)

    def _carried(self, heading: str, cells: pl.Series, *, blanks: bool, afresh: pl.Series | None = None) -> pl.Series:
        found = []
        last = self.last.get(heading, "")
        for place, cell in enumerate(cells):
            text = (cell or "").strip()
            if afresh is not None and afresh[place] and not text:
                last = ""
            elif (blanks and not text) or text.casefold() in DITTO:
                text = last
            last = text or ("" if blanks else last)
            found.append(text)
        self.last[heading] = last
        return pl.Series(heading, found, dtype=pl.String)


class Counting:
    """Gives rows what their place in the file says: the line of a spec, the number of a label among equals."""

    def __init__(self, plan: Plan) -> None:
        self.plan = plan
        self.seen: Counter[str] = Counter()

    def counted(self, batch: TextBatch) -> TextBatch:
        """The batch with columns for what is made of the rows' order."""
        for column, headings in self.plan.layout.counted.items():
            parts = [batch.rows[h] for h in headings if h in batch.rows.columns]
            keys = _joined(parts, batch.rows.height)
            made = []
            for key in keys:
                plain = f"{column}{APART}{key.casefold()}"
                self.seen[plain] += 1
                number = self.seen[plain]
                if column == "line":
                    made.append(str(number))
                else:
                    made.append(key.replace(APART, " ") + (f" #{number}" if number > 1 else ""))
            batch = replace(batch, rows=batch.rows.with_columns(pl.Series(column, made, dtype=pl.String)))
        return batch


def told_apart(batch: TextBatch, plan: Plan) -> TextBatch:
    """Where the settings say so, the batch with each spec's kind, and one serve as what a drink makes."""
    headings = plan.layout.headings
    if not plan.settings.kinds_by_row or headings.get("kind") != (KIND,):
        return batch
    says = [h for column in ("yield_amount", "keeps_days") for h in headings.get(column, ()) if h in batch.rows]
    made = preparations(batch.rows, headings["spec"][0], says, [h for several in headings.values() for h in several])
    kinds = pl.Series(KIND, ["preparation" if one else "drink" for one in made], dtype=pl.String)
    [yields] = headings["yield_amount"]
    cells = batch.rows[yields] if yields in batch.rows else pl.Series([""]).new_from_index(0, batch.rows.height)
    given = [cell if one or (cell or "").strip() else "1 serve" for one, cell in zip(made, cells, strict=True)]
    return replace(batch, rows=batch.rows.with_columns(kinds, pl.Series(yields, given, dtype=pl.String)))


def preparations(rows: pl.DataFrame, spec: str, says: Sequence[str], read: Sequence[str]) -> list[bool]:
    """Row by row whether its spec is a preparation.

    Args:
        rows: of a book, with the spec's name in each.
        spec: the heading of that name.
        says: headings of what it yields, and of how long it keeps.
        read: headings that fill columns; under the others stand the lines of the specs.
    """
    names = [name_key(VERSION.sub("", cell or "").strip()) for cell in rows[spec]]
    filled = [any((row[h] or "").strip() for h in says) for row in rows.iter_rows(named=True)]
    said = {name for name, one in zip(names, filled, strict=True) if one}
    others = [h for h in rows.columns if h not in read and not h.startswith("(")]
    inside = {
        key
        for name, row in zip(names, rows.iter_rows(named=True), strict=True)
        for cell in (row[h] for h in others)
        if cell and (key := name_key(cell.strip())) != name
    }
    return [name in said or name in inside for name in names]


def lines_apart(batch: TextBatch, plan: Plan) -> TextBatch:
    """A cell in which each line is an item with its amount, as a row for each of them."""
    item = plan.layout.headings.get("item", ())
    if len(item) != 1 or plan.layout.headings.get("amount") != item or item[0] not in batch.rows.columns:
        return batch
    decimal = plan.settings.decimal
    cells = [[line for line in (cell or "").splitlines() if line.strip()] for cell in batch.rows[item[0]]]
    apart = [some if len(some) > 1 and all(quantity_in(one, decimal)[0] for one in some) else [] for some in cells]
    if not any(apart):
        return batch
    whole = batch.rows[item[0]].to_list()
    lines = pl.Series(item[0], [some or [cell] for some, cell in zip(apart, whole, strict=True)])
    rows = batch.rows.with_columns(lines, batch.row_numbers.alias(APART)).explode(item[0])
    return replace(batch, rows=rows.drop(APART), row_numbers=rows[APART])


def on_their_days(batch: TextBatch, plan: Plan) -> TextBatch:
    """Where the headings of a wide file are weekdays, each row's day, by the week that is said around it."""
    wide = plan.settings.wide
    column = wide.headings_are if wide is not None else ""
    if column not in batch.rows.columns or plan.table.schema().columns[column].dtype.type != pl.Date:
        return batch
    headings = [heading for heading in plan.layout.unused if months.is_weekday(heading)]
    days = [week_of(headings, row).get(row[column]) for row in batch.rows.iter_rows(named=True)] if headings else []
    if not any(days):
        return batch
    cells = [cell if day is None else day.isoformat() for day, cell in zip(days, batch.rows[column], strict=True)]
    return replace(batch, rows=batch.rows.with_columns(pl.Series(column, cells, dtype=pl.String)))


def week_of(headings: Sequence[str], row: Mapping[str, str | None]) -> dict[str, date]:
    """The days of headings that are weekdays, by the first place around a row that tells the week, or by all."""
    said = [row.get(place) or "" for place in AROUND]
    return next(filter(None, (weeks.days_of(headings, one) for one in (*said, " / ".join(said)))), {})


def told_once(batch: TextBatch, plan: Plan) -> TextBatch:
    """Where the settings say so, the lines that agree in the table's key as one: each column's first filled cell.

    A line that says another thing than those before it stays a row of its own: that its key stands twice is told.
    """
    if not plan.settings.once:
        return batch
    layout = plan.layout
    keys = [batch.rows[h] for column in plan.table.key for h in layout.headings.get(column, ()) if h in batch.rows]
    others = [h for c, several in layout.headings.items() if c not in plan.table.key for h in several]
    others = [h for h in dict.fromkeys(others) if h in batch.rows.columns]
    first: dict[str, int] = {}
    kept: list[int] = []
    rows = {h: [(cell or "").strip() for cell in batch.rows[h]] for h in others}
    for place, key in enumerate(_joined(keys, batch.rows.height)):
        if not key.strip(APART):
            kept.append(place)
            continue
        home = first.setdefault(key.casefold(), place)
        if home == place or any(
            cells[place] and cells[home] and cells[place] != cells[home] for cells in rows.values()
        ):
            kept.append(place)
        else:
            for cells in rows.values():
                cells[home] = cells[home] or cells[place]
    whole = batch.rows.with_columns(**{h: pl.Series(cells, dtype=pl.String) for h, cells in rows.items()})
    return replace(
        batch,
        rows=whole[kept],
        row_numbers=batch.row_numbers.gather(kept),
        passed_over=batch.passed_over + batch.rows.height - len(kept),
    )


def _joined(parts: Sequence[pl.Series], height: int) -> list[str]:
    tidy = [casting.tidy(part).fill_null("") for part in parts]
    return [APART.join(cells) for cells in zip(*tidy, strict=True)] if tidy else [""] * height
