"""Puts the bad rows of `truths.BAD_ROWS` into the files: the mistakes that people and tills make."""

from __future__ import annotations

from datetime import date
from typing import Final

from stillroom.demo.model import Row
from stillroom.demo.truths import BAD_ROWS

_MISHAPS: Final[tuple[tuple[str, Row], ...]] = (
    ("written over", {"Count": "two"}),
    ("written over", {"Rung at": "2026-09-31 20:15:00"}),
    ("written over", {"Before tax": None}),
    ("written over", {"Count": 1, "Before tax": "-11.00"}),
    ("written over", {"mark": 11}),
    ("written over", {"correct": None}),
    (
        "put in",
        {"spec": "Rope and Resin", "version": "draft", "kind": "drink", "yield_amount": 1, "yield_unit": "serve"},
    ),
    ("put in", {"spec": "Harbour Dues", "version": 1, "line": 9, "item": "lemon", "amount": 1, "unit": "slice"}),
    ("written over", {"pack_cost": "see invoice"}),
    (
        "put in",
        {"batch": "RPS-00", "preparation": "roast pepper syrup", "made_on": date(2026, 9, 12), "made_unit": "ml"},
    ),
    ("put in", {"batch": "FLC-01", "happened_on": "Tuesday", "event": "counted", "amount": 500, "unit": "ml"}),
    (
        "put in",
        {"batch": "SPS-01", "happened_on": date(2026, 9, 20), "event": "poured away", "amount": 2, "unit": "glug"},
    ),
    ("put in", {"batch": "FLC-99", "happened_on": date(2026, 9, 24), "event": "used up"}),
    ("put in", {"batch": "RBS-02", "happened_on": date(2026, 8, 1), "event": "counted", "amount": 300, "unit": "ml"}),
    ("put in", {"till_item": "PUNCH BOWL", "spec": "Foghorn Sunday", "serves": 0}),
)
"""How each of `BAD_ROWS` comes about, in their order: cells written over in a row that is there, or a row put in."""


def put_in(files: dict[str, list[Row]]) -> None:
    """Spoil the rows that `BAD_ROWS` names; row 1 of a file is its heading, so row n is `rows[n - 2]`."""
    for bad, (how, cells) in zip(BAD_ROWS, _MISHAPS, strict=True):
        rows = files[bad.file]
        place = bad.row_number - 2
        if how == "put in":
            rows.insert(place, {**dict.fromkeys(rows[0]), **cells})
        else:
            rows[place] = {**rows[place], **cells}
