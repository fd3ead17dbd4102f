"""The spec book as rows: versions, and their lines."""

from __future__ import annotations

from stillroom.demo.drinks import DRINKS
from stillroom.demo.model import Row, plain
from stillroom.demo.preparations import PREPARATIONS


def spec_rows() -> list[Row]:
    """A row for each version of a drink, preparation or garnish."""
    return [
        {
            "spec": v.spec,
            "version": v.version,
            "kind": v.kind,
            "yield_amount": plain(v.yield_amount),
            "yield_unit": v.yield_unit,
            "keeps_days": v.keeps_days,
            "storage": v.storage,
            "method": v.method,
            "dilution_pct": None if v.dilution_pct is None else plain(v.dilution_pct),
            "price": None if v.price is None else f"{v.price:.2f}",
            "in_service_from": v.since,
            "in_service_until": v.until,
            "note": v.note,
        }
        for v in DRINKS + PREPARATIONS
    ]


def line_rows() -> list[Row]:
    """A row for each line of each version."""
    return [
        {
            "spec": v.spec,
            "version": v.version,
            "line": number,
            "item": line.item,
            "amount": plain(line.amount),
            "unit": line.unit,
        }
        for v in DRINKS + PREPARATIONS
        for number, line in enumerate(v.lines, 1)
    ]
