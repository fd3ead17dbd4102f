"""The demo's spec book: `specs.csv` and `spec-lines.csv` beside this module, as the house has them."""

from __future__ import annotations

import csv
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cached_property
from pathlib import Path
from typing import Final

from stillroom.demo.model import Line, Row, Version


def _rows(name: str) -> list[dict[str, str]]:
    with (Path(__file__).parent / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


_SPECS: Final = _rows("specs.csv")
_LINES: Final = _rows("spec-lines.csv")


@dataclass(frozen=True)
class SpecBook:
    """Every version of the house's specs, and when it was in service."""

    rows: tuple[dict[str, str], ...]

    @cached_property
    def drinks(self) -> tuple[Version, ...]:
        """Every version of each drink."""
        return tuple(_version(row) for row in self.rows if row["kind"] == "drink")

    @cached_property
    def preparations(self) -> tuple[Version, ...]:
        """Every version of each preparation, garnishes among them."""
        return tuple(_version(row) for row in self.rows if row["kind"] != "drink")

    def since(self, spec: str, version: int) -> date | None:
        """The day from which a drink's version is in service; None where it never is."""
        return next(one.since for one in self.drinks if (one.spec, one.version) == (spec, version))

    def spec_rows(self) -> list[Row]:
        """A row for each version of a drink, preparation or garnish."""
        return [dict(row) for row in self.rows]


def book(came: Mapping[tuple[str, int], date | None]) -> SpecBook:
    """The spec book as it stands, but for the days on which some versions came: until then the one before holds.

    `came`: spec and version -> its first day in service; None where it never came.
    """
    rows = [dict(row) for row in _SPECS]
    for (spec, version), day in came.items():
        for row in rows:
            if (row["spec"], row["version"]) == (spec, f"{version}"):
                row["in_service_from"] = f"{day or ''}"
            if (row["spec"], row["version"]) == (spec, f"{version - 1}"):
                row["in_service_until"] = f"{day - timedelta(days=1)}" if day else ""
    return SpecBook(tuple(rows))


BOOK: Final = book({})
"""As it stands."""


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
