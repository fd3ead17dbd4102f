"""Which version of a spec is in service on a day: the rule of the store's views, for specs in memory."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import polars as pl

Span = tuple[date | None, date | None]
"""First and last day in service, as written."""


def served(spans: Sequence[Span]) -> list[int]:
    """Places of those that are or were to be in service; one without dates is a trial where another has some."""
    return [place for place, span in enumerate(spans) if any(span)] or list(range(len(spans)))


def in_service(spans: Sequence[Span], day: date) -> int:
    """The place of the version meant on a day: the last whose span holds it; else the last begun, or the first to come.

    Args:
        spans: of all versions of one spec, lowest version first; at least one.

    >>> in_service([(date(2026, 3, 1), date(2026, 3, 31)), (date(2026, 5, 1), None)], date(2026, 4, 10))
    0
    """

    def first(place: int) -> date:
        return spans[place][0] or date.min

    meant = served(spans)
    holds = [place for place in meant if first(place) <= day <= (spans[place][1] or date.max)]
    if holds:
        return holds[-1]
    begun = [place for place in meant if first(place) <= day]
    return max(begun, key=lambda place: (first(place), place)) if begun else min(meant, key=first)


def version_on(spec: pl.DataFrame, name: str, day: date) -> dict[str, Any] | None:
    """The row of the version in service on a day; None where there is no such spec.

    Args:
        spec: spec, version, in_service_from, in_service_until, and whatever the row is to hold.
        name: of the spec, in any case.
    """
    import polars as pl

    rows = spec.filter(pl.col("spec").str.to_lowercase() == name.lower()).sort("version")
    if rows.is_empty():
        return None
    return rows.row(in_service(rows.select("in_service_from", "in_service_until").rows(), day), named=True)
