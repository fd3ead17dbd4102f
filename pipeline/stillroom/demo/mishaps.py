"""Puts the bad rows of `truths.BAD_ROWS` into the files: the mistakes that people and tills make."""

from __future__ import annotations

from datetime import date
from typing import Final

from stillroom.demo.model import Row
from stillroom.demo.truths import BAD_ROWS, BadRow

_OVERWRITTEN: Final[dict[BadRow, Row]] = dict(
    zip(
        BAD_ROWS[:6] + BAD_ROWS[8:9],
        (
            {"Count": "two"},
            {"Rung at": "2026-09-31 20:15:00"},
            {"Before tax": None},
            {"Count": 1, "Before tax": "-11.00"},
            {"mark": 11},
            {"correct": None},
            {"pack_cost": "see invoice"},
        ),
        strict=True,
    )
)
"""Cells that are written over in a row that is there."""


def _event(batch: str, happened_on: object, event: str, amount: object = None, unit: str | None = None) -> Row:
    return {"batch": batch, "happened_on": happened_on, "event": event, "amount": amount, "unit": unit, "reason": None}


_INSERTED: Final[dict[BadRow, Row]] = dict(
    zip(
        BAD_ROWS[6:8] + BAD_ROWS[9:],
        (
            {"spec": "Rope and Resin", "version": "draft", "kind": "drink", "yield_amount": 1, "yield_unit": "serve"},
            {"spec": "Harbour Dues", "version": 1, "line": 9, "item": "lemon", "amount": 1, "unit": "slice"},
            {
                "batch": "RPS-00",
                "preparation": "roast pepper syrup",
                "made_on": date(2026, 9, 12),
                "made_amount": None,
                "made_unit": "ml",
            },
            _event("FLC-01", "Tuesday", "counted", 500, "ml"),
            _event("SPS-01", date(2026, 9, 20), "poured away", 2, "glug"),
            _event("FLC-99", date(2026, 9, 24), "used up"),
            _event("RBS-02", date(2026, 8, 1), "counted", 300, "ml"),
            {"till_item": "PUNCH BOWL", "spec": "Foghorn Sunday", "serves": 0},
        ),
        strict=True,
    )
)
"""Rows that are put in at their row number."""


def put_in(files: dict[str, list[Row]]) -> None:
    """Spoil the rows that `BAD_ROWS` names; row 1 of a file is its heading, so row n is `rows[n - 2]`."""
    for bad in BAD_ROWS:
        rows = files[bad.file]
        place = bad.row_number - 2
        if bad in _OVERWRITTEN:
            rows[place] = {**rows[place], **_OVERWRITTEN[bad]}
        else:
            rows.insert(place, {**dict.fromkeys(rows[0]), **_INSERTED[bad]})
