"""The demo's spec book: `specs.csv` and `spec-lines.csv` beside this module, as the house has them."""

from __future__ import annotations

import csv
from datetime import date
from pathlib import Path
from typing import Final

from stillroom.demo.model import Line, Row, Version


def _rows(name: str) -> list[dict[str, str]]:
    with (Path(__file__).parent / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


_SPECS: Final = _rows("specs.csv")
_LINES: Final = _rows("spec-lines.csv")


def spec_rows() -> list[Row]:
    """A row for each version of a drink, preparation or garnish."""
    return [dict(row) for row in _SPECS]


def line_rows() -> list[Row]:
    """A row for each line of each version."""
    return [dict(row) for row in _LINES]


def _version(row: dict[str, str]) -> Version:
    lines = (line for line in _LINES if (line["spec"], line["version"]) == (row["spec"], row["version"]))
    since, until = row["in_service_from"], row["in_service_until"]
    return Version(
        spec=row["spec"],
        version=int(row["version"]),
        kind=row["kind"],
        lines=tuple(Line(float(line["amount"]), line["unit"], line["item"]) for line in lines),
        yield_amount=float(row["yield_amount"]),
        yield_unit=row["yield_unit"],
        keeps_days=int(row["keeps_days"]) if row["keeps_days"] else None,
        storage=row["storage"] or None,
        price=float(row["price"]) if row["price"] else None,
        since=date.fromisoformat(since) if since else None,
        until=date.fromisoformat(until) if until else None,
    )


DRINKS: Final = tuple(_version(row) for row in _SPECS if row["kind"] == "drink")
PREPARATIONS: Final = tuple(_version(row) for row in _SPECS if row["kind"] != "drink")
"""Garnishes among them."""
