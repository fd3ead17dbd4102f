"""One report on the page: its findings, charts and tables as the templates show them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from stillroom.objects import Finding, ReportChart, ReportTable
from stillroom_reports.charts import ChartFault, chart_spec
from stillroom_reports.document import Document, Entry, by_rank, safe_name
from stillroom_reports.drawing import WIDE, drawings, drawn_width
from stillroom_reports.tables import PAGE_ROWS, Cells, TableFault, table_cells

if TYPE_CHECKING:
    from markupsafe import Markup

    from stillroom_reports.drawn_before import Drawings


@dataclass(frozen=True, kw_only=True)
class Chart:
    """A chart on the page: its drawings, or why there is none."""

    id: str
    title: str
    note: str
    subject: str
    statistics: bool
    wide: Markup | None
    narrow: Markup | None = None
    """For a phone; None where the wide one is all there is."""
    whole_row: bool = False
    """Too wide to stand beside another."""
    fault: str = ""


@dataclass(frozen=True, kw_only=True)
class Table:
    """A table on the page: its cells, or why there are none."""

    id: str
    title: str
    note: str
    statistics: bool
    cells: Cells | None
    fault: str = ""


@dataclass(frozen=True, kw_only=True)
class Section:
    """One report on the page."""

    id: str
    name: str
    title: str
    question: str
    findings: tuple[Finding, ...]
    charts: tuple[Chart, ...]
    tables: tuple[Table, ...]
    notes: tuple[str, ...]


def sections(document: Document, before: Drawings) -> tuple[Section, ...]:
    """All reports of a document, in order, each with an id of its own."""
    return tuple(
        _section(entry, section_id, before) for entry, section_id in zip(document.entries, _ids(document), strict=True)
    )


def _ids(document: Document) -> Iterator[str]:
    taken: set[str] = set()
    for number, entry in enumerate(document.entries, 1):
        name = safe_name(entry.report.name).lower()
        yield f"report-{name}" if name not in taken else f"report-{name}-{number}"
        taken.add(name)


def _section(entry: Entry, section_id: str, before: Drawings) -> Section:
    result = entry.result
    return Section(
        id=section_id,
        name=entry.report.name,
        title=entry.report.title,
        question=entry.report.question,
        findings=tuple(by_rank(result.findings)),
        charts=tuple(
            chart_on_page(chart, f"{section_id}-chart-{n}", before) for n, chart in enumerate(result.charts, 1)
        ),
        tables=tuple(table_on_page(table, f"{section_id}-table-{n}") for n, table in enumerate(result.tables, 1)),
        notes=result.notes,
    )


def chart_on_page(chart: ReportChart, chart_id: str, before: Drawings) -> Chart:
    """A chart's drawings, or why it has none."""
    from markupsafe import Markup

    wide, narrow, fault = None, None, ""
    try:
        # What the chart library drew: it escapes every text of the data, and knows no script.
        wide, narrow = (Markup(svg) if svg else None for svg in drawings(chart_spec(chart), chart_id, before))
    except ChartFault as failed:
        fault = str(failed)
    return Chart(
        id=chart_id,
        title=chart.title,
        note=chart.note,
        subject=chart.subject,
        statistics=chart.statistics,
        wide=wide,
        narrow=narrow,
        whole_row=wide is not None and drawn_width(wide) > 1.1 * WIDE,
        fault=fault,
    )


def table_on_page(table: ReportTable, table_id: str, most: int = PAGE_ROWS) -> Table:
    """A table's cells, of so many rows at most, or why it has none."""
    cells, fault = None, ""
    try:
        cells = table_cells(table, most)
    except TableFault as failed:
        fault = str(failed)
    return Table(id=table_id, title=table.title, note=table.note, statistics=table.statistics, cells=cells, fault=fault)
