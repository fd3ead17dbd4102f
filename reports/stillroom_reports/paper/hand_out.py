"""The hand-out for the menu meeting: the season on one side, its drinks and their allergens on the other.

Tables of reports that are to be decided on follow on pages of their own, with room to write.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from typing import Any, Final

from stillroom.answers.advice import DEFERRAL
from stillroom.answers.review.objects import DrinkRow, Review, Today
from stillroom.answers.review.sheet_objects import Sheet
from stillroom.objects import ReportTable
from stillroom.words import MISSING, day_text, number, percent, season_text, short_amount, unbroken
from stillroom_reports.document import Document
from stillroom_reports.figures import grouped
from stillroom_reports.glance import FigureOnPage, Glance, ItemOnPage, RowOnPage, glance
from stillroom_reports.paper.drawings import drawing
from stillroom_reports.paper.sheet import sheet_values
from stillroom_reports.paper.typesetting import Printed, typeset
from stillroom_reports.tables import table_cells

MEND: Final = 4
"""Entries to mend that stand on paper: the largest sums."""
SHARED: Final = 3
"""Drinks of which a sentence of caution is said before it is told once, for all."""
CAUTION: Final = (
    "What a drink contains is taken from the price list, and where that is silent from a table of common ingredients: "
    "read the labels of what is in the house. Glasses, tins, boards and garnishes carry allergens from one to another."
)
DOTS, SPARK = 160, 150
"""Widths of pictures in pixels of their own."""


def hand_out(document: Document, sheets: Sequence[Sheet], paper: str) -> Printed:
    """Two sides for the menu meeting, what is to be decided in it, and a page for each of the sheets.

    Args:
        document: with a review.
        sheets: of the review's, those to print too.
        paper: A4 or Letter.
    """
    review = document.review
    assert review is not None
    shown = glance(review, document.house.currency)
    allergens, care = _contained(review)
    values = {
        "title": f"{document.house.name}: {document.period.label}",
        "house": document.house.name,
        "season": season_text(document.period),
        "currency": document.house.currency,
        "upto": _upto(document),
        "sentence": " ".join(filter(None, (shown.sentence, shown.last_week))),
        "unknown": shown.unknown,
        "figures": [_figure(figure) for figure in shown.figures],
        "axis": drawing(shown.axis, DOTS),
        "weeks": shown.weeks,
        "drinks": [_dot(row) for row in shown.drinks],
        "more": len(shown.more_drinks),
        "making": _making(shown, review.today),
        "decide": _list("This week", shown.decide),
        "mend": _list("To mend in the data", (*shown.mend, *shown.more_mend)[:MEND]),
        "more_mend": max(len(shown.mend) + len(shown.more_mend) - MEND, 0),
        "losses": [{"name": name, "money": money} for name, _, money in shown.lost],
        "headings": TABLE,
        "table": [_row(drink) for drink in review.drinks],
        "allergens": allergens,
        "care": care,
        "decided": [_decided(table) for one in document.entries for table in one.result.tables if table.hand_out],
        "sheets": [sheet_values(sheet, document) for sheet in sheets],
    }
    return typeset("hand-out", values, paper)


def _decided(table: ReportTable) -> dict[str, Any]:
    """A table to write on, as text."""
    cells = table_cells(replace(table, columns={name: table.columns[name] for name in table.hand_out}))
    headings = [", ".join(filter(None, (one.label, one.unit))) for one in cells.headings]
    return {
        "title": table.title,
        "headings": headings,
        "numbers": [one.kind == "number" for one in cells.headings],
        "rows": [[unbroken(cell) for cell in row] for row in cells.rows],
    }


def _upto(document: Document) -> str:
    found = dict(document.facts).get("Last day in the files")
    return f"files up to {day_text(found)}" if isinstance(found, date) else ""


def _figure(figure: FigureOnPage) -> dict[str, Any]:
    return {
        "label": figure.label,
        "value": figure.value,
        "unit": figure.unit,
        "lost": figure.is_loss,
        "spark": drawing(figure.spark, SPARK),
        "lines": [unbroken(line) for line in figure.lines],
    }


def _dot(row: RowOnPage) -> dict[str, Any]:
    return {
        "name": row.name,
        "dot": drawing(row.dot, DOTS),
        "spark": drawing(row.spark, SPARK),
        "money": row.money,
        "words": [{"text": unbroken(word.text), "tone": word.tone} for word in row.words],
        "decide": row.decide,
    }


def _making(shown: Glance, today: Today | None) -> list[dict[str, Any]]:
    return [] if today is None else [{"title": f"Next making, {shown.today_text}", "items": _today(today)}]


def _list(title: str, items: Sequence[ItemOnPage]) -> list[dict[str, Any]]:
    return [{"title": title, "items": [_item(one) for one in items]}] if items else []


def _item(one: ItemOnPage) -> dict[str, str]:
    do = f"{one.subject}: {one.do}" if one.subject else f"{one.do[:1].upper()}{one.do[1:]}"
    why = " ".join(filter(None, (one.why, f"({one.mend})" if one.mend else "")))
    return {"do": do, "money": unbroken(one.money), "sureness": one.sureness, "why": unbroken(why)}


def _today(today: Today) -> list[dict[str, str]]:
    items = [
        {
            "do": f"Pour away {one.preparation} {one.batch}",
            "why": ", ".join(
                filter(
                    None,
                    (
                        short_amount(one.amount, one.unit) if one.amount else "",
                        f"past its use-by {day_text(one.use_by)}" if one.use_by else "past its use-by",
                    ),
                )
            ),
        }
        for one in today.pour
    ]
    made = ", ".join(
        f"{one.preparation} {short_amount(one.amount, one.unit)}" + (f" at {one.venue}" if one.venue else "")
        for one in today.make
    )
    items.append({"do": f"Make {made}" if made else "Nothing has to be made", "why": ""})
    return [{"money": "", "sureness": "", **one} for one in items]


def _row(drink: DrinkRow) -> list[str]:
    """A row of the season's table, in the order of its headings."""
    sold = drink.serves > 0
    least = "" if drink.whole else "at least "
    most = "" if drink.whole else "at most "
    cost = drink.cost_per_serve
    return [
        drink.name,
        number(drink.serves),
        number(drink.serves_per_day, 1),
        number(drink.net_amount),
        number(drink.net_amount / drink.serves, 2) if sold else MISSING,
        MISSING if cost is None else f"{least}{number(cost, 2)}",
        MISSING
        if cost is None or drink.net_amount <= 0
        else f"{least}{percent(cost * drink.serves / drink.net_amount)}",
        MISSING if drink.contribution is None else f"{most}{grouped(drink.contribution)}",
        drink.does,
    ]


TABLE: Final = ("Drink", "Serves", "A day", "Sales", "A serve", "Costs", "Of sales", "Left over", "On the menu map")


def _contained(review: Review) -> tuple[list[dict[str, str]], str]:
    """Every drink of the season with the allergens stated and what else to be careful of, and what holds for all."""
    sheets = {sheet.name: sheet for sheet in review.sheets}
    drinks = sorted((one.name for one in review.drinks if one.name in sheets), key=str.casefold)
    said = {name: [_said(*one, sheets[name].allergens) for one in sheets[name].careful] for name in drinks}
    often = Counter(sentence for cautions in said.values() for _, sentences in cautions for sentence in sentences)
    rows = []
    for name in drinks:
        stated = ", ".join(sheets[name].allergens)
        care = []
        for title, sentences in said[name]:
            own = [one for one in sentences if often[one] < SHARED]
            care += [f"{title}: {' '.join(own)}"] if own else []
        rows.append({"name": name, "stated": stated or "none stated", "care": " ".join(care)})
    return rows, " ".join([*(sentence for sentence, times in often.items() if times >= SHARED), CAUTION, DEFERRAL])


def _said(title: str, text: str, stated: tuple[str, ...]) -> tuple[str, list[str]]:
    """A caution's title, and its sentences but for what the table says and what all end with."""
    sentences = re.split(r"(?<=\.) (?=[A-Z])", text.removesuffix(DEFERRAL).strip())
    return title, [one for one in sentences if one and not one.startswith(f"Contains {', '.join(stated)},")]
