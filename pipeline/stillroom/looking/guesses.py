"""What a book says without a heading of its own: in a title, in a sheet's name, in a cell that says two things.

Each guess is of columns that no heading fits. What more than one place could say is not guessed.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any, Final

import polars as pl

from stillroom.house.model import Wide
from stillroom.intake import amounts, casting, months
from stillroom.intake.amounts import Amount
from stillroom.intake.completing import preparations
from stillroom.intake.parting import DAY, VERSION, quantity_in
from stillroom.intake.planning import MADE_OF
from stillroom.intake.shaping import AROUND, FILE, SHEET, TITLE, row_words
from stillroom.looking.headings import ACROSS, MOST, PRICE, SAID_ONCE, TIME_OF_DAY, Cells, Fit, wide_of
from stillroom.looking.questions import BY_ROW
from stillroom.looking.words import plain, words_of
from stillroom_schemas import fields
from stillroom_schemas.table import Table
from stillroom_schemas.units import MAKING

NO_NAME: Final = re.compile(
    r"(?i)^(sheet|tabelle|blatt|feuil|feuille|hoja|foglio|planilha|folha|blad|ark|arkusz|list)\s*\d*$"
)
IN_A_CASE: Final = re.compile(
    r"(?i)case|box|crate|carton|per pack|pack of|units|kart|kist|vpe|colis|caisse|caja|cassa|caixa|doos|krat|kasse"
    r"|kolli|zgrz|skrzyn|krabic|st(?:ü|u)ck|pezzi|pièces|piezas|uds|unidades|antal|aantal|anzahl|szt|ks\b|qty|quantity"
)
"""A column of how many there are in what is bought."""
AMOUNT_INSIDE: Final = re.compile(r"\d+\s*(?:ml|cl|dl|l|g|kg)\b")
TIME: Final = re.compile(TIME_OF_DAY)
CENTS: Final = 0.02  # by which a bottle's price may be rounded
DAY_OF_MONTH: Final = re.compile(r"(?:[1-9]|[12]\d|3[01])\.?$")
NAMES: Final = ("spec", "preparation")
ONCE: Final = {
    "spec_line": ("spec", "version"),
    "batch": ("made_on", "preparation"),
    "tasting": ("session", "tasted_on", "spec", "version", "panelist", "attribute"),
    "spec": ("spec", "version"),
    "trial": ("session", "tasted_on", "spec", "panelist"),
}
"""Table -> columns that a book gives once for the rows below."""


@dataclass(frozen=True, kw_only=True)
class Guess:
    """A fit, with what the book says elsewhere."""

    fit: Fit
    constants: Mapping[str, str]
    fill_down: tuple[str, ...] = ()
    only_with: tuple[str, ...] = ()
    once: bool = False


def guessed(
    fit: Fit, rows: pl.DataFrame, cells_under: Mapping[str, Cells], said: Mapping[str, str] | None = None
) -> Guess:
    """What stands elsewhere than under a heading.

    Args:
        fit: how the headings fit the table.
        cells_under: what most of the cells under each heading are.
        said: column -> what its keeper has answered.
        rows: the rows of the file, as far as they were looked at.
    """
    said = said or {}
    schema = fit.table.schema()
    taken = frozenset(place for place in AROUND if any(place in answer for answer in said.values()))
    found = _Found(
        columns=dict(fit.columns),
        rows=rows,
        schema=schema,
        wide=fit.wide,
        table=fit.table,
        taken=taken,
        rivals=fit.rivals,
    )
    for look in (
        found.by_cells,
        found.labels,
        found.names,
        found.days,
        found.sessions,
        found.versions,
        found.amounts,
        found.prices,
        found.packs,
        found.cases,
        found.events,
    ):
        look()
    needed = [name for name, column in schema.columns.items() if fields.needed(column)]
    there = {*found.columns, *found.constants, *found.turned}
    if ("kind", said.get("kind")) == BY_ROW:
        there.add("yield_amount")
    missing = tuple(name for name in (*needed, *fit.rivals) if name not in there and name not in said)
    if fit.table.name == "batch_event" and not {"batch", "preparation"} & {
        *there,
        *(n for n in schema.columns if n in said),
    }:
        missing = (*missing, "batch")
    wide = fit.wide
    used = {heading for several in found.columns.values() for heading in several}
    left = {h: cells for h, cells in cells_under.items() if h not in used and not h.startswith("(")}
    if wide is None:
        told = said.get("headings_are")
        wide = wide_of([name for name in missing if told is None or name not in ACROSS or name == told], left, schema)
        turned = (wide.headings_are, wide.cells_are) if wide else ()
        missing = tuple(name for name in missing if name not in turned)
    open_grid = wide is None and {*ACROSS, "score"} <= {*missing}
    scores = [h for h, cells in left.items() if cells.filled and cells.numbers and plain(h) not in row_words("means")]
    across = tuple(scores) if open_grid else ()
    whole = replace(
        fit,
        wide=wide,
        columns={name: found.columns[name] for name in schema.columns if name in found.columns},
        suggested=(fit.suggested & found.columns.keys()) | (found.columns.keys() - fit.columns.keys()),
        missing=missing,
        across=across if len(across) > 1 else (),
        kinds=found.kinds() if "kind" in missing else None,
    )
    once = fit.table.name == "spec" and found.repeats()
    only_with = ("event",) if fit.table.name == "batch_event" and found.blanks("event") else ()
    if fit.table.name == "batch" and found.is_week():
        only_with = ("made_amount",)
    return Guess(fit=whole, constants=found.constants, fill_down=found.filled_once(), only_with=only_with, once=once)


def with_labels(guess: Guess, partner: Guess, said: Mapping[str, str]) -> Guess:
    """A guess of rows that are about others of the same file, with labels made as those are; `partner`: of those.

    A row is about another one only where that happened on another day: a heading of its own tells which.
    """
    fit, made = guess.fit, partner.fit.columns
    within = [h for column in MADE_OF["batch"] for h in made.get(column, ())]
    apart = len(set(within)) == len(within) > 1 and fit.columns.get("happened_on") != made.get("made_on")
    if "batch" in fit.columns or "batch" in said or partner.fit.missing or not apart:
        return guess
    columns = {name: several for name, several in fit.columns.items() if name != "preparation"}
    labelled = replace(
        fit,
        columns=columns | {"batch": tuple(within)},
        suggested=fit.suggested - {"preparation"} | {"batch"},
        missing=tuple(name for name in fit.missing if name != "batch"),
    )
    return replace(guess, fit=labelled, fill_down=(*guess.fill_down, *(("batch",) if partner.fill_down else ())))


class _Found:
    """Columns and constants, while they are found."""

    def __init__(
        self,
        *,
        columns: dict[str, tuple[str, ...]],
        rows: pl.DataFrame,
        schema: Any,
        wide: Wide | None,
        table: Table,
        taken: frozenset[str],
        rivals: Mapping[str, tuple[str, ...]],
    ) -> None:
        self.rivals = rivals
        self.columns, self.schema, self.table = columns, schema, table
        self.rows = rows.drop(taken, strict=False)
        self.turned = (wide.headings_are, wide.cells_are) if wide else ()
        self.constants: dict[str, str] = {}

    def _lacks(self, name: str) -> bool:
        said = (*self.columns, *self.constants, *self.turned)
        return name in self.schema.columns and name not in said

    def _cells(self, heading: str) -> list[str]:
        if heading not in self.rows.columns:
            return []
        return casting.tidy(self.rows[heading]).drop_nulls().to_list()

    def _all_filled(self, heading: str) -> bool:
        return len(self._cells(heading)) == self.rows.height > 0

    def by_cells(self) -> None:
        """Where no row is one of headings: the only column of words, of amounts, of prices."""
        nameless = [heading for heading in self.rows.columns if heading.startswith("(column ")]
        if not nameless or any(not heading.startswith("(") for heading in self.rows.columns):
            return
        kinds: dict[str, list[str]] = {"item": [], "amount": [], "cost": []}
        for heading in nameless:
            cells = self._cells(heading)
            if not cells:
                continue
            if len(nameless) == 1 and self._most(heading, _holds_amount):
                kinds["item"].append(heading)  # and the amount in the same cell
                continue
            with_unit = [
                cell for cell in cells if _is_amount(cell) and not cell.replace(",", ".").replace(".", "").isdecimal()
            ]
            numbers = [
                cell
                for cell in cells
                if (re.fullmatch(r"\D{0,4}\d[\d.,]*\D{0,4}", cell) and not _is_amount(cell))
                or cell.replace(",", "").replace(".", "").isdecimal()
            ]
            kind = (
                "amount"
                if len(with_unit) >= MOST * len(cells)
                else "cost"
                if len(numbers) >= MOST * len(cells)
                else "item"
            )
            kinds[kind].append(heading)
        for name, kind in (("item", "item"), ("amount", "amount"), ("pack_amount", "amount"), ("pack_cost", "cost")):
            if name in self.schema.columns and name not in self.columns and len(kinds[kind]) == 1:
                self.columns[name] = (kinds[kind][0],)

    def labels(self) -> None:
        """What looks like a label by its heading, and stands several times, is what was made."""
        headings = self.columns.get("batch", ())
        if self.table.name != "batch" or len(headings) != 1 or not self._lacks("preparation"):
            return
        cells = [cell.casefold() for cell in self._cells(headings[0])]
        if len(set(cells)) < len(cells) and not any(re.search(r"\d", cell) for cell in cells):
            self.columns["preparation"] = self.columns.pop("batch")

    def names(self) -> None:
        """A spec's name: in the title above its lines, or else in the name of its sheet."""
        for name in NAMES:
            if not self._lacks(name) or (name == "preparation" and self.table.name != "batch"):
                continue
            titles = set(self._cells(TITLE)) if self._all_filled(TITLE) else set()
            sheets = {cell for cell in self._cells(SHEET) if not NO_NAME.match(cell) and not DAY.search(cell)}
            named = {title for title in titles if VERSION.sub("", title) and not _is_day(title)}
            if named and named == titles and (len(named) > 1 or not sheets or _agree(named, sheets)):
                self.columns[name] = (TITLE,)
            elif sheets and not named:
                self.columns[name] = (SHEET,)

    def versions(self) -> None:
        """A version that stands alone above the lines; one behind a name needs no words."""
        if not self._lacks("version"):
            return
        titles = self._cells(TITLE)
        if titles and all(VERSION.match(title) and not VERSION.sub("", title) for title in titles):
            self.columns["version"] = (TITLE,)

    def days(self) -> None:
        """A day in a title, or in the name of a sheet or file; of a moment, with its time beside it."""
        used = {heading for several in self.columns.values() for heading in several}
        times = [h for h in self.rows.columns if h not in used and h not in AROUND and self._most(h, TIME.match)]
        dated = [p for p in (TITLE, SHEET, FILE) if self._all_filled(p) and all(map(_is_day, self._cells(p)))]
        if self._lacks("sold_at") and len(times) == 1 and dated:
            self.columns["sold_at"] = (dated[0], times[0])
        for name in ("tasted_on", "made_on"):
            if not self._lacks(name):
                continue
            if (numbered := self._numbered_days(name)) is not None:
                self.columns[name] = numbered
                continue
            for place in (TITLE, SHEET, FILE):
                cells = self._cells(place)
                if cells and self._all_filled(place) and all(_is_day(cell) for cell in cells):
                    self.columns[name] = (place,)
                    break

    def _numbered_days(self, name: str) -> tuple[str, str] | None:
        """Days of a month as numbers, and the place where the month and its year stand: a sheet 'March 2026'."""
        places = (p for p in (TITLE, SHEET, FILE) if self._all_filled(p) and all(map(_is_month, self._cells(p))))
        place = next(places, None)
        headings = [h for h in self._free() if plain(h) in words_of(name) and self._most(h, DAY_OF_MONTH.match)]
        return (headings[0], place) if place is not None and len(headings) == 1 else None

    def sessions(self) -> None:
        """A sitting by the name of its sheet, by its title, or else by its day."""
        if not self._lacks("session"):
            return
        used = {heading for name in (*NAMES, "version") for heading in self.columns.get(name, ())}
        for place in (SHEET, TITLE):
            cells = self._cells(place)
            if cells and self._all_filled(place) and place not in used and not any(map(NO_NAME.match, cells)):
                self.columns["session"] = (place,)
                return
        if "tasted_on" in self.columns:
            self.columns["session"] = self.columns["tasted_on"]

    def amounts(self) -> None:
        """An amount in its unit's column, before or behind the item's name, or in the price's heading."""
        for name, column in self.schema.columns.items():
            unit = (column.metadata or {}).get("unit_in")
            if not unit or not self._lacks(name) or not fields.needed(column):
                continue
            if unit in self.columns and self._most(self.columns[unit][0], _is_amount):
                self.columns[name] = self.columns[unit]
            elif "item" in self.columns and self._most(self.columns["item"][0], _holds_amount):
                self.columns[name] = self.columns["item"]
            elif name == "made_amount" and (counts := [h for h in self._free() if amounts.is_making(h)]):
                self.columns[name], self.constants[unit] = (counts[0],), MAKING
            elif name not in SAID_ONCE:
                free = [h for h in self._free() if self._most(h, _is_amount) and self._some(h, _names_unit)]
                if len(free) == 1:
                    self.columns[name] = (free[0],)

    def prices(self) -> None:
        """What a price buys: '12 €/kg' in its cell, '€/kg' in its heading."""
        if not self._lacks("pack_amount") or "pack_cost" not in self.columns:
            return
        heading = self.columns["pack_cost"][0]
        cells = self._cells(heading)
        priced = pl.Series(cells, dtype=pl.String).str.contains(PRICE)
        if cells and bool(priced.any()):
            self.columns["pack_amount"] = (heading,)
        elif (unit := amounts.unit_in_heading(heading)) is not None:
            self.constants["pack_amount"] = f"1 {unit}"

    def packs(self) -> None:
        """Where another column counts what is in a case, nothing tells what a price buys: it is asked."""
        if "pack_amount" not in self.columns or self.table.name != "ingredient":
            return
        used = {heading for several in self.columns.values() for heading in several}
        for heading in self.rows.columns:
            if heading in used or not IN_A_CASE.search(heading):
                continue
            cells = self._cells(heading)
            if cells and all(cell.isdecimal() for cell in cells) and any(cell != "1" for cell in cells):
                del self.columns["pack_amount"]
                return

    def cases(self) -> None:
        """Of several prices, the one that is so many times another as there are in a case: '6 x 0,7 l'."""
        rivals, packs = self.rivals.get("pack_cost", ()), self.columns.get("pack_amount", ())
        if not rivals or len(packs) != 1 or packs[0] not in self.rows.columns:
            return
        counts = [re.match(r"(\d+)\s*[x×*]", cell or "") for cell in self.rows[packs[0]]]
        prices = {h: [_price(cell) for cell in self.rows[h]] for h in rivals}
        fits = [
            whole
            for whole in rivals
            for each in rivals
            if whole != each
            and any(counts)
            and all(
                count is None
                or (a is not None and b is not None and abs(a - int(count[1]) * b) <= CENTS * int(count[1]))
                for count, a, b in zip(counts, prices[whole], prices[each], strict=True)
            )
        ]
        if len(fits) == 1 and all(counts):
            self.columns["pack_cost"] = (fits[0],)

    def events(self) -> None:
        """The day and the amount of what became of a batch, in the cell that says it."""
        if self.table.name != "batch_event":
            return
        heading = self.columns.get("event", ())
        if len(heading) != 1:
            return
        cells = self._cells(heading[0])
        if self._most(heading[0], DAY.search):  # the other columns are about the batch itself
            self.columns["happened_on"] = heading
            self.columns.pop("amount", None)
        elif self._lacks("happened_on") and any(DAY.search(cell) for cell in cells):
            self.columns["happened_on"] = heading
        if self._lacks("amount") and any(AMOUNT_INSIDE.search(cell) for cell in cells):
            self.columns["amount"] = heading
        free = [h for h in self._free() if self._most(h, _is_amount)]
        if self._lacks("amount") and self.columns.get("happened_on") != heading and len(free) == 1:
            self.columns["amount"] = (free[0],)

    def _free(self) -> list[str]:
        """Headings that fill no column yet."""
        used = {one for several in self.columns.values() for one in several}
        return [h for h in self.rows.columns if h not in used and h not in AROUND]

    def _some(self, heading: str, test: Any) -> bool:
        return any(map(test, self._cells(heading)))

    def _most(self, heading: str, test: Any) -> bool:
        cells = self._cells(heading)
        return bool(cells) and sum(1 for cell in cells if test(cell)) >= MOST * len(cells)

    def blanks(self, name: str) -> bool:
        headings = self.columns.get(name, ())
        return any(len(self._cells(heading)) < self.rows.height for heading in headings)

    def kinds(self) -> tuple[tuple[str, ...], tuple[str, ...]] | None:
        """The drinks and the preparations of a book that has both, told by what their rows say."""
        [spec, *_] = self.columns.get("spec", ("",))
        if spec not in self.rows.columns or self.table.name != "spec":
            return None
        names = self.rows[spec].str.strip_chars()
        rows = self.rows.with_columns(names.set(names == "", None).forward_fill().alias(spec))
        says = [h for column in ("yield_amount", "keeps_days") for h in self.columns.get(column, ()) if h in rows]
        made = preparations(rows, spec, says, [h for several in self.columns.values() for h in several])
        pairs = [(VERSION.sub("", name or ""), one) for name, one in zip(rows[spec], made, strict=True)]
        drinks, preps = (tuple(dict.fromkeys(n for n, one in pairs if n and one is kind)) for kind in (False, True))
        return (drinks, preps) if drinks and preps else None

    def is_week(self) -> bool:
        """Whether every preparation stands once under each day: where no amount does, nothing was made."""
        [name, *_] = self.columns.get("preparation", ("",))
        if self.columns.get("made_on") != (TITLE,) or name not in self.rows.columns or not self.blanks("made_amount"):
            return False
        names = self.rows.group_by(TITLE).agg(pl.col(name))[name].to_list()
        return len(names) > 1 and all(one == names[0] and len(set(one)) == len(one) for one in names)

    def filled_once(self) -> tuple[str, ...]:
        """Columns that are given on the first of several rows."""
        found = []
        for name in ONCE.get(self.table.name, ()):
            headings = [h for h in self.columns.get(name, ()) if h not in AROUND]
            if len(headings) != 1 or headings[0].startswith("(") or headings[0] not in self.rows.columns:
                continue
            cells = self.rows[headings[0]].fill_null("").str.strip_chars()
            if self.rows.height and cells[0] and (cells == "").any():
                found.append(name)
        return tuple(found)

    def repeats(self) -> bool:
        """Whether a spec stands on several lines."""
        headings = [h for name in ("spec", "version") for h in self.columns.get(name, ()) if h in self.rows.columns]
        if not headings:
            return False
        keys = self.rows.select(
            pl.concat_str([pl.col(h).fill_null("") for h in dict.fromkeys(headings)], separator="|")
        )
        return bool(keys.to_series().is_duplicated().any()) or self.blanks("spec")


def _agree(titles: set[str], sheets: set[str]) -> bool:
    """The title is the sheet's name, with a version or without."""
    plain = {VERSION.sub("", title).casefold().strip() for title in titles}
    return plain == {VERSION.sub("", sheet).casefold().strip() for sheet in sheets}


def _is_day(text: str) -> bool:
    found = DAY.search(text)
    if found is None:
        return False
    whole = re.search(r"\d{4}", found[0]) is not None or found[0].count(".") + found[0].count("/") == 2
    return whole or months.without_weekday(pl.Series([text]))[0] == found[0]


def _is_month(text: str) -> bool:
    """Whether a text names a month and its year."""
    return re.search(r"\b20\d\d\b", text) is not None and any(map(months.is_month, re.findall(r"[^\W\d_]+", text)))


def _price(cell: str | None) -> float | None:
    """A price with two decimals or none."""
    found = re.fullmatch(r"\D{0,5}(\d+)(?:[.,](\d\d))?\D{0,5}", (cell or "").strip())
    return float(f"{found[1]}.{found[2] or '0'}") if found else None


def _is_amount(text: str) -> bool:
    return isinstance(amounts.read(text, ","), Amount)


def _names_unit(text: str) -> bool:
    read = amounts.read(text, ",")
    return isinstance(read, Amount) and read.unit is not None


def _holds_amount(text: str) -> bool:
    return quantity_in(text, ",")[0] is not None
