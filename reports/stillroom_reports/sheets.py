"""The sheets of things as the template shows them: what the host knows, and the parts that reports contribute."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

from stillroom.answers.review.sheet_objects import BatchMark, Sheet
from stillroom.names import name_key
from stillroom.objects import Finding, ReportTable
from stillroom_reports.courses import Panel, course_panels
from stillroom_reports.document import Document, by_rank, safe_name
from stillroom_reports.map_picture import menu_map
from stillroom_reports.pictures import bar
from stillroom_reports.sections import Chart, Section, Table, chart_on_page, table_on_page
from stillroom_reports.sheet_texts import SizeTexts, lever_texts, place_text, size_texts

if TYPE_CHECKING:
    import polars as pl
    from markupsafe import Markup

    from stillroom_reports.drawn_before import Drawings

BATCHES: Final = 8
"""Batches that are shown before the rest is folded away."""


@dataclass(frozen=True, kw_only=True)
class Said:
    """A finding about a thing, with the report that says it."""

    finding: Finding
    report: str
    title: str


@dataclass(frozen=True, kw_only=True)
class SheetOnPage:
    """One thing's sheet."""

    id: str
    sheet: Sheet
    panels: tuple[Panel, ...]
    shares: tuple[Markup, ...]
    """A bar for each of its users."""
    place: Markup | None
    """The menu map with this drink on it."""
    place_said: str
    levers: tuple[tuple[str, str, str], ...]
    """What, the money it would move, what that rests on."""
    sizes: tuple[SizeTexts, ...]
    batches: tuple[BatchMark, ...]
    more_batches: tuple[BatchMark, ...]
    said: tuple[Said, ...]
    charts: tuple[Chart, ...]
    tables: tuple[tuple[str, tuple[Table, ...]], ...]
    """Title of a report, and what its tables say of the thing."""


def addresses(sheets: Sequence[Sheet]) -> dict[str, str]:
    """Name of a thing -> HTML id of its sheet."""
    found: dict[str, str] = {}
    taken: set[str] = set()
    for sheet in sheets:
        name = f"{sheet.kind}-{safe_name(sheet.name).lower()}"
        number = 1
        while (own := name if number == 1 else f"{name}-{number}") in taken:
            number += 1
        taken.add(own)
        found[sheet.name] = own
    return found


def sheets_on_page(
    document: Document, sections: Sequence[Section], ids: Mapping[str, str], before: Drawings
) -> tuple[SheetOnPage, ...]:
    """Every sheet, with the findings, charts and rows of tables that are about its thing."""
    if document.review is None:
        return ()
    contributed = _Contributed(document, sections, before)
    return tuple(
        _sheet(sheet, ids[sheet.name], contributed, document.house.currency) for sheet in document.review.sheets
    )


def _sheet(sheet: Sheet, sheet_id: str, contributed: _Contributed, currency: str) -> SheetOnPage:
    return SheetOnPage(
        id=sheet_id,
        sheet=sheet,
        panels=course_panels(sheet.course) if sheet.course else (),
        shares=tuple(
            bar(user.share or 0.0, label=f"{100 * (user.share or 0):.0f} %", kind="normal") for user in sheet.users
        ),
        place=menu_map(sheet.place, currency) if sheet.place else None,
        place_said=place_text(sheet.place, currency) if sheet.place else "",
        levers=tuple(lever_texts(sheet)),
        sizes=tuple(size_texts(sheet)),
        batches=sheet.batches[:BATCHES],
        more_batches=sheet.batches[BATCHES:],
        said=contributed.said(sheet.name),
        charts=contributed.charts(sheet.name, sheet_id),
        tables=contributed.tables(sheet.name, sheet_id),
    )


class _Contributed:
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
        return tuple(
            Said(finding=finding, report=section.id, title=section.title)
            for entry, section in self._entries
            for finding in by_rank(entry.result.findings)
            if name_key(finding.subject) == name_key(name)
        )

    def charts(self, name: str, sheet_id: str) -> tuple[Chart, ...]:
        return tuple(
            chart_on_page(chart, f"{sheet_id}-{section.id}-chart-{n}", self._before)
            for entry, section in self._entries
            for n, chart in enumerate(entry.result.charts, 1)
            if name_key(chart.subject) == name_key(name) and not chart.statistics
        )

    def tables(self, name: str, sheet_id: str) -> tuple[tuple[str, tuple[Table, ...]], ...]:
        found: dict[str, list[Table]] = {}
        for place, (section, table, rows) in enumerate(self._rows):
            own = rows.get(name_key(name))
            if own is None or table.statistics:
                continue
            rest = {column: shown for column, shown in table.columns.items() if column != table.subjects}
            about = replace(table, frame=own, columns=rest)
            found.setdefault(section.title, []).append(table_on_page(about, f"{sheet_id}-table-{place}"))
        return tuple((title, tuple(tables)) for title, tables in found.items())


def _rows_by_subject(table: ReportTable) -> dict[str, pl.DataFrame]:
    """The rows of a table by what they are about; the whole table where it is about one thing."""
    if table.subject:
        return {name_key(table.subject): table.frame}
    if not table.subjects or table.subjects not in getattr(table.frame, "columns", ()):
        return {}
    parts = table.frame.partition_by(table.subjects, as_dict=True, maintain_order=True)
    return {str(name).casefold(): rows for (name,), rows in parts.items() if name is not None}
