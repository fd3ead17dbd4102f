"""A group of houses on the page: what stands first, and a sheet for every house."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from stillroom.answers.house_sheet import Member
from stillroom.objects import Finding
from stillroom_reports.contributed import Contributed, Said, unlike_ids
from stillroom_reports.document import Document, Entry, by_rank, to_act_on
from stillroom_reports.figures import grouped
from stillroom_reports.glance import ItemOnPage
from stillroom_reports.sections import Chart, Section, Table
from stillroom_reports.tables import FOLDED_TO, PAGE_ROWS

if TYPE_CHECKING:
    from stillroom_reports.drawn_before import Drawings

FIRST: Final = 8
"""Findings to act on that are shown before the rest is folded away."""
MANY: Final = 200
"""Houses beyond which a sheet has the first rows of each table alone: a page of thousands has to open."""


@dataclass(frozen=True, kw_only=True)
class HouseOnPage:
    """One house's sheet."""

    id: str
    member: Member
    said: tuple[Said, ...]
    charts: tuple[Chart, ...]
    tables: tuple[tuple[str, tuple[Table, ...]], ...]
    """Title of a report, and what its tables say of the house."""


@dataclass(frozen=True, kw_only=True)
class FirstScreen:
    """What stands first: what to do, and what else each report says first."""

    act: tuple[ItemOnPage, ...]
    more: tuple[ItemOnPage, ...]
    known: tuple[tuple[str, Finding], ...]
    """Name of a report, and the first of its findings that asks for nothing."""


def addresses(document: Document) -> dict[str, str]:
    """Name of a house -> HTML id of its sheet."""
    return unlike_ids(("house", member.name) for member in document.members)


def houses_on_page(
    document: Document, sections: Sequence[Section], ids: Mapping[str, str], before: Drawings
) -> tuple[HouseOnPage, ...]:
    """Every house's sheet, with the findings, charts and rows of tables that are about it."""
    if not document.members:
        return ()
    contributed = Contributed(document, sections, before)
    most = PAGE_ROWS if len(document.members) <= MANY else FOLDED_TO
    return tuple(
        HouseOnPage(
            id=ids[member.name],
            member=member,
            said=contributed.said(member.name),
            charts=contributed.charts(member.name, ids[member.name]),
            tables=contributed.tables(member.name, ids[member.name], most),
        )
        for member in document.members
    )


def first_screen(document: Document) -> FirstScreen:
    """What to do first in the group, and what else is known."""
    items = [_item(entry, finding, document.house.currency) for entry, finding in to_act_on(document)]
    known = [
        (entry.report.name, rest[0])
        for entry in document.entries
        if (rest := [finding for finding in by_rank(entry.result.findings) if not finding.act])
    ]
    return FirstScreen(act=tuple(items[:FIRST]), more=tuple(items[FIRST:]), known=tuple(known))


def _item(entry: Entry, finding: Finding, currency: str) -> ItemOnPage:
    worth = finding.money is not None and finding.money >= 0.5
    return ItemOnPage(
        subject=finding.subject,
        do=finding.do,
        money=f"{currency} {grouped(finding.money or 0.0)}" if worth else "",
        sureness=finding.sureness,
        why=finding.why or finding.sentence,
        mend=finding.mend,
        reports=(entry.report.name,),
    )
