"""What cells say that stand under other headings, or none: amounts, prices, packs, and what became of a batch."""

from __future__ import annotations

import re
from typing import Final

import polars as pl

from stillroom.intake import amounts, values
from stillroom.intake.amounts import Amount
from stillroom.intake.parting import DAY, quantity_in
from stillroom.intake.shaping import AROUND
from stillroom.looking.cells import MOST, PRICE
from stillroom.looking.found import Found
from stillroom.looking.headings import SAID_ONCE, how_like
from stillroom.looking.words import plain
from stillroom.reading.nameless import is_nameless
from stillroom_schemas import fields
from stillroom_schemas.units import MAKING

IN_A_CASE: Final = re.compile(
    r"(?i)case|box|crate|carton|per pack|pack of|units|kart|kist|vpe|colis|caisse|caja|cassa|caixa|doos|krat|kasse"
    r"|kolli|zgrz|skrzyn|krabic|st(?:ü|u)ck|pezzi|pièces|piezas|uds|unidades|antal|aantal|anzahl|szt|ks\b|qty|quantity"
)
"""A column of how many there are in what is bought."""
AMOUNT_INSIDE: Final = re.compile(r"\d+\s*(?:ml|cl|dl|l|g|kg)\b")
DIGIT: Final = re.compile(r"[\d½⅓⅔¼¾⅛]")
"""Without one, 'l' beside a price means one litre, but beside what was made it is the unit alone."""
KINDS: Final = (
    *(("item", "item"), ("unit", "unit"), ("amount", "amount")),
    *(("pack_amount", "amount"), ("pack_cost", "cost")),
)
"""Column -> which kind of nameless cells fill it."""
BESIDE_A_DAY: Final = re.compile(r"^date |(?: on| date)$")
CENTS: Final = 0.02  # by which a bottle's price may be rounded


def by_cells(found: Found) -> None:
    """Where no row is one of headings: the only column of words, of amounts, of prices."""
    nameless = list(filter(is_nameless, found.rows.columns))
    if not nameless or any(not heading.startswith("(") for heading in found.rows.columns):
        return
    kinds: dict[str, list[str]] = {"item": [], "amount": [], "cost": [], "unit": []}
    for heading in nameless:
        cells = found.cells(heading)
        if not cells:
            continue
        if len(nameless) == 1 and found.most(heading, _holds_amount):
            kinds["item"].append(heading)  # and the amount in the same cell
            continue
        if found.table.name != "ingredient" and found.most(heading, amounts.unit_of):
            kinds["unit"].append(heading)
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
            "amount" if len(with_unit) >= MOST * len(cells) else "cost" if len(numbers) >= MOST * len(cells) else "item"
        )
        kinds[kind].append(heading)
    if kinds["unit"] and not kinds["amount"]:  # the numbers beside are the amounts
        kinds |= {"amount": kinds["cost"], "cost": []}
    for name, kind in KINDS:
        if name in found.schema.columns and name not in found.columns and len(kinds[kind]) == 1:
            found.columns[name] = (kinds[kind][0],)


def labels(found: Found) -> None:
    """What looks like a label by its heading, and stands several times, is what was made."""
    headings = found.columns.get("batch", ())
    if found.table.name != "batch" or len(headings) != 1 or not found.lacks("preparation"):
        return
    cells = [cell.casefold() for cell in found.cells(headings[0])]
    if len(set(cells)) < len(cells) and not any(re.search(r"\d", cell) for cell in cells):
        found.columns["preparation"] = found.columns.pop("batch")


def quantities(found: Found) -> None:
    """An amount in its unit's column, before or behind the item's name, or in the price's heading."""
    for name, column in found.schema.columns.items():
        unit = (column.metadata or {}).get("unit_in")
        if (
            unit in found.columns
            and not found.lacks(name)
            and all(
                map(
                    _names_unit,
                    [cell for heading in found.columns.get(name, ()) for cell in found.cells(heading)] or [""],
                )
            )
        ):
            del found.columns[unit]  # which is of something else: of the lines of a recipe, below what it yields
        if not unit or not found.lacks(name) or not fields.needed(column):
            continue
        units = found.columns.get(unit, ())
        counted = name == "pack_amount" or any(found.some(heading, DIGIT.search) for heading in units)
        if counted and units and found.most(units[0], _is_amount):
            found.columns[name] = units
        elif "item" in found.columns and found.most(found.columns["item"][0], _holds_amount):
            found.columns[name] = found.columns["item"]
        elif name == "made_amount" and (counts := [h for h in found.free() if amounts.is_making(h)]):
            found.columns[name], found.constants[unit] = (counts[0],), MAKING
        elif name not in SAID_ONCE:
            free = [h for h in found.free() if found.most(h, _is_amount) and found.some(h, _names_unit)]
            if len(free) == 1:
                found.columns[name] = (free[0],)


def prices(found: Found) -> None:
    """What a price buys: '12 €/kg' in its cell, '€/kg' in its heading."""
    if not found.lacks("pack_amount") or "pack_cost" not in found.columns:
        return
    heading = found.columns["pack_cost"][0]
    cells = found.cells(heading)
    priced = pl.Series(cells, dtype=pl.String).str.contains(PRICE)
    if cells and bool(priced.any()):
        found.columns["pack_amount"] = (heading,)
    elif (unit := amounts.unit_in_heading(heading)) is not None:
        found.constants["pack_amount"] = f"1 {unit}"


def kinds(found: Found) -> None:
    """Drinks or preparations, where the heading of their names says it: 'Cocktail', 'Prep'.

    Below 'Drink' all with a price are drinks of one serve, unless it is said what they yield or how long they keep.
    """
    [heading, *_] = found.columns.get("spec", ("",))
    kind = values.spellings(fields.allowed(found.schema.columns["kind"])).get(plain(heading))
    if kind == "drink" and "price" in found.columns and all(map(found.lacks, ("yield_amount", "keeps_days"))):
        found.constants |= {"kind": kind, "yield_amount": "1 serve"}
    elif kind == "preparation":
        found.constants["kind"] = kind


def cases(found: Found) -> None:
    """Of the price of a case and that of one of what is in it, the one that goes with the pack.

    How many are in a case stands in the pack, '6 x 0,7 l', or in a column of its own. Where it does, and no two prices
    tell which is which, nothing tells what a price buys: it is asked.
    """
    pack = _of_one_size(found)
    if found.table.name != "ingredient" or pack not in found.rows.columns:
        return
    inside = [re.match(r"(\d+)\s*[x×*]", cell or "") for cell in found.rows[pack]]
    beside = next((h for h in found.free() if _counts_cases(found, h)), None)
    counts = [int(one[1]) if one else None for one in inside]
    if not any(inside) and beside is not None:
        counts = [int(cell) if (cell or "").strip().isdecimal() else None for cell in found.rows[beside]]
    likely = {*found.rivals.get("pack_cost", ()), *found.columns.get("pack_cost", ())}
    prices = {
        h: [_price(cell) for cell in found.rows[h]]
        for h in found.rows.columns
        if h in likely or (h in found.free() and how_like(h, "pack_cost") > 0)
    }
    fits = [(a, b) for a in prices for b in prices if a != b and _is_case_of(counts, prices[a], prices[b])]
    if len(fits) == 1 and (all(inside) or not any(inside)):
        found.columns["pack_cost"] = (fits[0][0 if any(inside) else 1],)
    elif beside is not None:
        del found.columns["pack_amount"]


def _of_one_size(found: Found) -> str:
    """The heading of packs: rather that of sizes than that of how many are in a case."""
    [pack, *_] = found.columns.get("pack_amount", ("",))
    sized = [h for h in found.free() if amounts.unit_in_heading(h) or found.most(h, _names_unit)]
    if found.table.name == "ingredient" and len(sized) == 1 and _counts_cases(found, pack):
        pack = sized[0]
        found.columns["pack_amount"] = (pack,)
    return pack


def _counts_cases(found: Found, heading: str) -> bool:
    cells = found.cells(heading)
    whole = bool(cells) and all(cell.isdecimal() for cell in cells) and any(cell != "1" for cell in cells)
    return whole and IN_A_CASE.search(heading) is not None


def _is_case_of(counts: list[int | None], whole: list[float | None], each: list[float | None]) -> bool:
    """Whether the one price is so many times the other in every row that has both."""
    rows = [(n, a, b) for n, a, b in zip(counts, whole, each, strict=True) if n and a is not None and b is not None]
    return any(n > 1 for n, _, _ in rows) and all(abs(a - n * b) <= CENTS * n for n, a, b in rows)


def fates(found: Found) -> None:
    """A column of days called after what happened on them, 'Finished' or 'Binned on': that event, on that day."""
    if "event" in found.columns or (named := fate_days(found)) is None:
        return
    heading, event = named
    if found.constants.get("event", event) != event:
        return
    found.columns["happened_on"] = (heading,)
    found.constants["event"] = event
    if _has_days(found):  # on which the batch was made: its amount is what was made, too
        found.columns.pop("amount", None)


def fate_days(found: Found) -> tuple[str, str] | None:
    """The only heading of such days, and the event."""
    if found.table.name != "batch_event":
        return None
    words = values.spellings(fields.allowed(found.schema.columns["event"]))
    days = [h for h in found.rows.columns if h not in AROUND and found.most(h, DAY.fullmatch)]
    called = [(h, event) for h in days if (event := words.get(BESIDE_A_DAY.sub("", plain(h))))]
    return called[0] if len(called) == 1 else None


def losses(found: Found) -> None:
    """In a log of losses or counts the only column of amounts says how much: with none, it would be the whole batch."""
    if found.table.name != "batch_event" or found.constants.get("event") in (None, "used up"):
        return
    free = [h for h in found.free() if found.most(h, _is_amount)]
    free = [h for h in free if found.some(h, _names_unit) or amounts.unit_in_heading(h)]
    if found.lacks("amount") and len(free) == 1 and not _has_days(found):
        found.columns["amount"] = (free[0],)


def _has_days(found: Found) -> bool:
    """Whether another column has days, too: a book of batches."""
    return any(found.most(h, DAY.fullmatch) for h in found.free())


def events(found: Found) -> None:
    """The day and the amount of what became of a batch, in the cell that says it."""
    if found.table.name != "batch_event":
        return
    heading = found.columns.get("event", ())
    if len(heading) != 1:
        return
    cells = found.cells(heading[0])
    if found.most(heading[0], DAY.search):  # the other columns are about the batch itself
        found.columns["happened_on"] = heading
        found.columns.pop("amount", None)
    elif found.lacks("happened_on") and any(DAY.search(cell) for cell in cells):
        found.columns["happened_on"] = heading
    if found.lacks("amount") and any(AMOUNT_INSIDE.search(cell) for cell in cells):
        found.columns["amount"] = heading
    free = [h for h in found.free() if found.most(h, _is_amount)]
    if found.lacks("amount") and found.columns.get("happened_on") != heading and len(free) == 1:
        found.columns["amount"] = (free[0],)


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
