"""The sheet of a thing, on one side."""

from __future__ import annotations

from typing import Any, Final

from stillroom.answers.review.sheet_objects import BatchMark, Sheet, UserRow
from stillroom.names import name_key
from stillroom.words import day_text, number, percent, short_day, unbroken
from stillroom_reports.courses import course_panels
from stillroom_reports.document import Document, by_rank
from stillroom_reports.map_picture import menu_map
from stillroom_reports.paper.drawings import Drawing, course, drawing
from stillroom_reports.sheet_texts import lever_texts, place_text, size_texts

MAP: Final = 420
"""Width of the menu map, in pixels of its own."""
BATCHES: Final = 8
"""Batches that stand on a sheet of paper: the newest."""
SAID: Final = 5
"""Findings that do: the heaviest."""


def sheet_values(sheet: Sheet, document: Document) -> dict[str, Any]:
    """A sheet as its template takes it."""
    currency = document.house.currency
    several = len(sheet.versions.versions) > 1
    return {
        "name": sheet.name,
        "kind": sheet.kind,
        "says": sheet.says,
        "facts": [unbroken(fact) for fact in (*sheet.facts, sheet.source) if fact],
        "careful": [{"title": title, "text": text} for title, text in sheet.careful],
        "notes": [
            {
                "label": note.label,
                "value": note.value,
                "unit": note.unit,
                "lines": [unbroken(note.small)] if note.small else [],
                "lost": note.is_loss,
                "spark": None,
            }
            for note in sheet.notes
        ],
        "course": _course(sheet),
        "label": sheet.course.label if sheet.course else "",
        "versions": list(sheet.versions.versions) if several else [],
        "rows": [
            {"cells": [what, *cells], "changed": changed} for what, cells, changed in sheet.versions.rows if several
        ],
        "parts": [
            [part.name, part.amount, part.cost, "" if part.share is None else percent(part.share)]
            for part in sheet.parts
        ],
        "place": drawing(menu_map(sheet.place, currency), MAP) if sheet.place else None,
        "does": sheet.place.does if sheet.place else "",
        "place_said": unbroken(place_text(sheet.place, currency)) if sheet.place else "",
        "levers": [list(map(unbroken, row)) for row in lever_texts(sheet)],
        "from": short_day(sheet.sizes[0].made_on) if sheet.sizes else "",
        "sizes": [list(map(unbroken, (one.size, one.lost, one.short, one.what))) for one in size_texts(sheet)],
        "users": [_user(user) for user in sheet.users],
        "said": _said(sheet.name, document),
        "unit": _unit(sheet),
        "batches": [_batch(batch) for batch in sheet.batches[:BATCHES]],
        "more": max(len(sheet.batches) - BATCHES, 0),
    }


def _course(sheet: Sheet) -> Drawing | None:
    if sheet.course is None:
        return None
    said = f"{sheet.course.label} of {sheet.name}, {day_text(sheet.course.first)} to {day_text(sheet.course.last)}"
    marks = "".join(f"; {mark.text} on {day_text(mark.day)}" for mark in sheet.course.marks)
    return course(course_panels(sheet.course), said + marks)


def _user(user: UserRow) -> list[str]:
    return [
        user.name,
        user.takes,
        "" if user.serves is None else number(user.serves),
        "" if user.share is None else percent(user.share),
    ]


def _said(name: str, document: Document) -> list[dict[str, str]]:
    about = [
        finding
        for entry in document.entries
        for finding in by_rank(entry.result.findings)
        if name_key(finding.subject) == name_key(name)
    ]
    return [
        {"sentence": unbroken(one.sentence), "sureness": one.sureness, "evidence": unbroken(one.evidence)}
        for one in about[:SAID]
    ]


def _unit(sheet: Sheet) -> str:
    if not sheet.batches:
        return ""
    return "pieces" if sheet.batches[0].unit == "each" else sheet.batches[0].unit


def _batch(batch: BatchMark) -> list[str]:
    return [
        batch.batch,
        short_day(batch.made_on),
        number(batch.made),
        number(batch.used),
        number(batch.lost),
        short_day(batch.use_by) if batch.use_by else "",
        batch.source,
    ]
