"""The sheets of things as the template shows them: what the host knows, and the parts that reports contribute."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from stillroom.answers.review.sheet_objects import BatchMark, Sheet
from stillroom_reports.contributed import Contributed, Said, unlike_ids
from stillroom_reports.courses import Panel, course_panels
from stillroom_reports.document import Document
from stillroom_reports.map_picture import menu_map
from stillroom_reports.pictures import bar
from stillroom_reports.sections import Chart, Section, Table
from stillroom_reports.sheet_texts import SizeTexts, lever_texts, place_text, size_texts

if TYPE_CHECKING:
    from markupsafe import Markup

    from stillroom_reports.drawn_before import Drawings

BATCHES: Final = 8
"""Batches that are shown before the rest is folded away."""


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
    return unlike_ids((sheet.kind, sheet.name) for sheet in sheets)


def sheets_on_page(
    document: Document, sections: Sequence[Section], ids: Mapping[str, str], before: Drawings
) -> tuple[SheetOnPage, ...]:
    """Every sheet, with the findings, charts and rows of tables that are about its thing."""
    if document.review is None:
        return ()
    contributed = Contributed(document, sections, before)
    return tuple(
        _sheet(sheet, ids[sheet.name], contributed, document.house.currency) for sheet in document.review.sheets
    )


def _sheet(sheet: Sheet, sheet_id: str, contributed: Contributed, currency: str) -> SheetOnPage:
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
