"""What reports contribute to the sheet of one thing: findings, charts and rows of tables that are about it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from stillroom.names import name_key
from stillroom.objects import Finding, ReportTable
from stillroom_reports.document import Document, by_rank, safe_name
from stillroom_reports.sections import Chart, Section, Table, chart_on_page
from stillroom_reports.tables import PAGE_ROWS, TableFault, cells_of, shown_columns

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
        self._tables = [
            _by_subject(section, table) for entry, section in self._entries for table in entry.result.tables
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
        for place, about in enumerate(self._tables):
            if name_key(name) in about.rows:
                table = about.on_page(name_key(name), f"{sheet_id}-table-{place}", most)
                found.setdefault(about.section.title, []).append(table)
        return tuple((title, tuple(tables)) for title, tables in found.items())


@dataclass(frozen=True, kw_only=True)
class _BySubject:
    """A table whose rows are about things, without the column that says of which."""

    section: Section
    table: ReportTable
    rows: Mapping[str, Sequence[tuple[object, ...]]]
    """By the key of a thing's name."""
    shown: pl.DataFrame | None
    """None where the table cannot be shown."""
    fault: str

    def on_page(self, key: str, table_id: str, most: int) -> Table:
        rows, cells = self.rows[key], None
        if self.shown is not None:
            cells = cells_of(self.table, self.shown, rows[:most], max(len(rows) - most, 0))
        one = self.table
        return Table(id=table_id, title=one.title, note=one.note, statistics=False, cells=cells, fault=self.fault)


def _by_subject(section: Section, table: ReportTable) -> _BySubject:
    """The rows of a table by what they are about; all of them where it is about one thing."""
    rest = {column: heading for column, heading in table.columns.items() if column != table.subjects}
    about, shown, fault = replace(table, columns=rest), None, ""
    try:
        shown = shown_columns(about)
    except TableFault as failed:
        fault = str(failed)
    rows: dict[str, list[tuple[object, ...]]] = {}
    if table.subject and not table.statistics:
        rows[name_key(table.subject)] = []  # it stands there without rows, too
    shown_rows = [()] * table.frame.height if shown is None else shown.rows()
    for name, row in zip(_subjects(table), shown_rows, strict=True):
        if name is not None:
            rows.setdefault(name_key(str(name)), []).append(row)
    return _BySubject(section=section, table=about, rows=rows, shown=shown, fault=fault)


def _subjects(table: ReportTable) -> Sequence[object]:
    """What each row of a table is about; None where it does not say, or is for the statistician."""
    if table.statistics or not (table.subject or table.subjects in table.frame.columns):
        return [None] * table.frame.height
    return [table.subject] * table.frame.height if table.subject else table.frame[table.subjects].to_list()
