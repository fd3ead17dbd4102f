"""Which version of a spec is meant, used, or may still be in stock on a day: the store's facts, looked up."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Final, NamedTuple

from stillroom.names import name_key

if TYPE_CHECKING:
    import polars as pl

LAST_OF_DAYS: Final = date(9999, 12, 31)
"""Where a span is open; the day to ask about where no file says what day it is."""


class Span(NamedTuple):
    """Days, both ends included, of one version of a spec."""

    version: int
    in_service: bool
    """Whether the days written for the version hold them; of state `service` alone."""
    first_day: date
    last_day: date


class Versions:
    """The view `version_span`, by name.

    Args:
        spans: name_key, version, state, in_service, first_day, last_day.
    """

    def __init__(self, spans: pl.DataFrame) -> None:
        self._spans: dict[tuple[str, str], list[Span]] = {}
        columns = ["state", "name_key", "version", "in_service", "first_day", "last_day"]
        for state, name, version, in_service, first, last in spans.sort("first_day").select(columns).iter_rows():
            self._spans.setdefault((state, name), []).append(Span(version, bool(in_service), first, last))

    def in_service(self, spec: str, day: date) -> int | None:
        """The version meant on a day; None where there is no such spec."""
        return next(iter(self._on("service", spec, day)), None)

    def in_use(self, spec: str, day: date) -> int | None:
        """The version used on a day: that of the batch in use, else the one in service."""
        return next(iter(self._on("use", spec, day)), None)

    def in_stock(self, spec: str, day: date) -> list[int]:
        """Every version of which there may be some on a day, the one in use first."""
        used, stocked = self._on("use", spec, day), self._on("stock", spec, day)
        return list(dict.fromkeys([*used, *sorted(stocked, reverse=True)]))

    def service(self, spec: str, version: int) -> list[Span]:
        """The spans in which a version is or was to be in service, in order; none of a trial."""
        spans = self._spans.get(("service", name_key(spec)), [])
        return [span for span in spans if span.version == version and span.in_service]

    def nearest_day(self, spec: str, version: int, day: date) -> date:
        """The day itself, or of a version that is then not in service, the day of its service nearest to it."""
        spans = self.service(spec, version)
        if not spans:
            return day
        return max(spans[0].first_day, min(spans[-1].last_day, day))

    def _on(self, state: str, spec: str, day: date) -> list[int]:
        spans = self._spans.get((state, name_key(spec)), [])
        return [span.version for span in spans if span.first_day <= day <= span.last_day]
