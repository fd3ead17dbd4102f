"""What reports contribute to the sheet of one thing: findings, charts and rows of tables that are about it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from stillroom.names import name_key
from stillroom.objects import Finding, ReportTable
from stillroom_reports.document import Document, by_rank, safe_name
from stillroom_reports.sections import Chart, Section, Table, chart_on_page, table_on_page
from stillroom_reports.tables import PAGE_ROWS

if TYPE_CHECKING:
    import polars as pl

    from stillroom_reports.drawn_before import Drawings


def unlike_ids(things: Iterable[tuple[str, str]]) -> dict[str, str]:
    """Name of a thing -> HTML id of its sheet, of things by kind and name."""
    found: dict[str, str] = {}
    taken: set[str] = set()
    for kind, called in things:
        name = f"{kind}-{safe_name(called).lower()}"
        number = 1
        while (own := name if number == 1 else f"{name}-{number}") in taken:
            number += 1
        taken.add(own)
        found[called] = own
    return found


@dataclass(frozen=True, kw_only=True)
class Said:
    """A finding about a thing, with the report that says it."""

    finding: Finding
    report: str
    title: str


class Contributed:
    """What reports say of things, by the key of the thing's name."""

    def __init__(self, document: Document, sections: Sequence[Section], before: Drawings) -> None:
        self._entries = list(zip(document.entries, sections, strict=True))
        self._before = before
        self._rows = [
            (section, table, _rows_by_subject(table))
            for entry, section in self._entries
            for table in entry.result.tables
        ]

    def said(self, name: str) -> tuple[Said, ...]:
        """Findings about a thing, report by report."""
        return tuple(
            Said(finding=finding, report=section.id, title=section.title)
            for entry, section in self._entries
            for finding in by_rank(entry.result.findings)
            if name_key(finding.subject) == name_key(name)
        )

    def charts(self, name: str, sheet_id: str) -> tuple[Chart, ...]:
        """Charts about a thing alone."""
        return tuple(
            chart_on_page(chart, f"{sheet_id}-{section.id}-chart-{n}", self._before)
            for entry, section in self._entries
            for n, chart in enumerate(entry.result.charts, 1)
            if name_key(chart.subject) == name_key(name) and not chart.statistics
        )

    def tables(self, name: str, sheet_id: str, most: int = PAGE_ROWS) -> tuple[tuple[str, tuple[Table, ...]], ...]:
        """Title of a report, and its tables' rows about a thing, so many of each at most."""
        found: dict[str, list[Table]] = {}
        for place, (section, table, rows) in enumerate(self._rows):
            own = rows.get(name_key(name))
            if own is None or table.statistics:
                continue
            rest = {column: shown for column, shown in table.columns.items() if column != table.subjects}
            about = replace(table, frame=own, columns=rest)
            found.setdefault(section.title, []).append(table_on_page(about, f"{sheet_id}-table-{place}", most))
        return tuple((title, tuple(tables)) for title, tables in found.items())


def _rows_by_subject(table: ReportTable) -> dict[str, pl.DataFrame]:
    """The rows of a table by what they are about; the whole table where it is about one thing."""
    if table.subject:
        return {name_key(table.subject): table.frame}
    if not table.subjects or table.subjects not in getattr(table.frame, "columns", ()):
        return {}
    parts = table.frame.partition_by(table.subjects, as_dict=True, maintain_order=True)
    return {name_key(str(name)): rows for (name,), rows in parts.items() if name is not None}
