"""What people commonly call the columns of our tables, in plain English: by these words headings are recognised."""

from __future__ import annotations

import re
import unicodedata
from typing import Final

_DATE: Final = "date, day, when"
_UNIT: Final = "unit, units, measure"
_NOTE: Final = "notes, remark, remarks, comment, comments"
_PLACE: Final = "site, location, bar, outlet, place, branch"
_MONEY: Final = "amount, takings, revenue, sales, total, price, value, gross"
_DRINK: Final = "drink, recipe, name, sample, product"

COMMON_WORDS: Final[dict[str, str]] = {
    # sale, till_match
    "sold_at": "sold, closed at, closed, rung at, rung, date and time, date time, timestamp, time, " + _DATE,
    "venue": _PLACE,
    "till_item": "till name, item, item name, article, product, product name, button, drink, description, what, name",
    "quantity": "qty, count, number, units, pieces, pcs, sold, number of items",
    "net_amount": "net, net sales, net total, before tax, ex tax, " + _MONEY,
    "check_id": "check, check no, check number, bill, bill no, receipt, receipt no, ticket, tab, order, order no",
    "line_id": "line, line no, line number",
    "serves": "servings",
    # tasting, trial
    "session": "sitting, tasting, tasting session",
    "tasted_on": "tasted, date of tasting, " + _DATE,
    "panelist": "panellist, taster, person, judge, who, name",
    "attribute": "aspect, quality, descriptor, trait, property",
    "score": "mark, points, rating, value, result",
    "scale_low": "lowest, scale from, low",
    "scale_high": "highest, scale to, high",
    "position": "serving order, order, place",
    "code": "blind code, sample code",
    "replicate": "repeat, rep",
    "correct": "right, answer",
    "chosen": "preferred, choice, answer",
    # spec, spec_line, ingredient
    "spec": _DRINK + ", preparation",
    "version": "ver, v, revision, rev",
    "kind": "type, category",
    "yield_amount": "yield, makes, gives",
    "yield_unit": _UNIT,
    "keeps_days": "keeps, shelf life, shelf life days, days",
    "storage": "stored, kept",
    "price": "menu price",
    "in_service_from": "on the menu from, in service, from, start",
    "in_service_until": "on the menu until, until, to, end",
    "note": _NOTE,
    "line": "line no, step, no",
    "item": "ingredient, name, product",
    "amount": "quantity, qty, volume",
    "unit": _UNIT,
    "pack_amount": "pack size, pack, size, contents",
    "pack_unit": _UNIT,
    "pack_cost": "cost, price, pack price",
    "priced_on": "price date, date",
    "usable_pct": "usable, yield",
    "abv_pct": "abv, alcohol, strength, vol",
    "sugar_pct": "sugar, brix",
    "acid_pct": "acid, acidity",
    "density_g_ml": "density",
    "allergens": "contains, allergen",
    # batch, batch_event
    "batch": "label, batch no, batch number, lot",
    "preparation": "prep, spec, what, recipe, name, product",
    "made_on": "made, date made, prepared, " + _DATE,
    "made_amount": "amount, quantity, volume, yield",
    "made_unit": _UNIT,
    "use_by": "use before, good until, expires, expiry, expires on",
    "made_by": "by, who",
    "happened_on": "happened, " + _DATE,
    "event": "what happened, fate, outcome",
    "reason": "why, " + _NOTE,
}
"""Column -> words, the likeliest first. A plugin's own columns go by their names alone."""


def plain(heading: str) -> str:
    """A heading or a column's name as words to compare: small letters without accents and marks.

    >>> plain("Qty."), plain("soldAt"), plain("net_amount"), plain("Menü %")
    ('qty', 'sold at', 'net amount', 'menu pct')
    """
    text = re.sub(r"(?<=[a-z])(?=[A-Z])", " ", heading).replace("%", " pct ")
    text = "".join(letter for letter in unicodedata.normalize("NFKD", text) if not unicodedata.combining(letter))
    return " ".join(re.findall(r"[^\W_]+", text.casefold()))


def words_of(column: str) -> list[str]:
    """What a column may be called, its own name first."""
    return list(dict.fromkeys([plain(column), *filter(None, COMMON_WORDS.get(column, "").split(", "))]))
