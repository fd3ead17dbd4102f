"""The till's export: a file a week, and one file that corrects three days of another."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import date, timedelta
from typing import Final

import numpy as np

from stillroom.demo.drinks import SELLING
from stillroom.demo.evenings import JUG, NOT_OURS
from stillroom.demo.model import Row, TillLine
from stillroom.demo.truths import CORRECTED_DAYS, CORRECTED_FILE

HEADINGS: Final = {
    "sold_at": "Rung at",
    "till_item": "Button",
    "quantity": "Count",
    "net_amount": "Before tax",
    "check_id": "Tab",
    "line_id": "Line no",
}
"""Column of the table -> heading in the demo's till export."""


def weekly_files(lines: Iterable[TillLine], rng: np.random.Generator) -> dict[str, list[Row]]:
    """The export files of a season, by name."""
    weeks: dict[date, list[TillLine]] = {}
    corrected = []
    for line in lines:
        monday = line.business_date - timedelta(days=line.business_date.weekday())
        weeks.setdefault(monday, []).append(line)
        if line.business_date in CORRECTED_DAYS:
            corrected.append(line)
    wrong_week = CORRECTED_DAYS[0] - timedelta(days=CORRECTED_DAYS[0].weekday())
    weeks[wrong_week] = _with_mistakes(weeks[wrong_week], rng)
    files = {f"till/till-{monday}.csv": [_row(line) for line in week] for monday, week in weeks.items()}
    files[CORRECTED_FILE] = [_row(line) for line in corrected]
    return files


def _with_mistakes(week: list[TillLine], rng: np.random.Generator) -> list[TillLine]:
    """The week as first exported: a line missing, one miscounted, one without its discount, one misnamed."""
    paid = [n for n, line in enumerate(week) if line.business_date in CORRECTED_DAYS and line.drink and line.cents > 0]
    missing, miscounted, dearer, misnamed = (int(n) for n in rng.choice(paid, 4, replace=False))
    mistaken = list(week)
    right = week[miscounted]
    mistaken[miscounted] = replace(right, quantity=9, cents=9 * right.cents // right.quantity)
    mistaken[dearer] = replace(week[dearer], cents=round(week[dearer].cents * 1.25))
    mistaken[misnamed] = replace(week[misnamed], till_item=NOT_OURS[0][0])
    del mistaken[missing]
    return mistaken


def _row(line: TillLine) -> Row:
    cells = {
        "sold_at": line.sold_at.isoformat(sep=" "),
        "till_item": line.till_item,
        "quantity": line.quantity,
        "net_amount": f"{line.cents / 100:.2f}",
        "check_id": line.check_id,
        "line_id": line.line_id,
    }
    return {HEADINGS[column]: cell for column, cell in cells.items()}


def matches() -> list[Row]:
    """The match file: what each of the till's spellings stands for."""
    rows: list[Row] = []
    for drink, selling in SELLING.items():
        rows += [{"till_item": text, "venue": None, "spec": drink, "serves": 1} for text in selling.spellings]
    rows.append({"till_item": JUG[0], "venue": None, "spec": JUG[1], "serves": JUG[2]})
    rows += [{"till_item": spelling, "venue": None, "spec": None, "serves": None} for spelling, _, _ in NOT_OURS]
    return rows
