"""The few shapes that the parts of the demo hand to one another."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime

from stillroom_schemas.units import conversions


@dataclass(frozen=True)
class Line:
    """One line of a spec."""

    amount: float
    unit: str
    item: str

    @property
    def base_amount(self) -> float:
        """The amount in ml, g or pieces."""
        return self.amount * conversions()[self.unit][1]


@dataclass(frozen=True, kw_only=True)
class Version:
    """One version of a spec, with its lines."""

    spec: str
    version: int
    kind: str
    lines: tuple[Line, ...]
    yield_amount: float = 1
    yield_unit: str = "serve"
    keeps_days: int | None = None
    storage: str | None = None
    price: float | None = None
    since: date | None = None
    until: date | None = None

    def serves_on(self, day: date) -> bool:
        """Whether it is in service on that day."""
        return self.since is not None and self.since <= day <= (self.until or date.max)


@dataclass(frozen=True, kw_only=True)
class TillLine:
    """One till line, with what the guest truly got."""

    business_date: date
    sold_at: datetime
    till_item: str
    quantity: int
    cents: int
    check_id: str = ""
    line_id: str = ""
    drink: str | None = None
    serves: int = 1
    """Serves in one."""


Row = dict[str, object]
"""One row of a file: heading -> cell; None is an empty cell."""


def in_service(versions: Iterable[Version], day: date) -> dict[str, Version]:
    """The version of each spec that is in service on a day: the highest, where two are."""
    found = sorted((v for v in versions if v.serves_on(day)), key=lambda v: v.version)
    return {version.spec: version for version in found}


def plain(number: float) -> str:
    """A number without a needless point.

    >>> plain(50.0), plain(0.7)
    ('50', '0.7')
    """
    return f"{number:g}"
