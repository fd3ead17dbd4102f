"""What looking at a file proposes: a name for its source, remarks and notes."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

from stillroom.files import real
from stillroom.house.house import House
from stillroom.house.model import WHOLE_DAYS
from stillroom.house.toml import toml
from stillroom.intake import planning
from stillroom.intake.planning import Candidate, Plan
from stillroom.looking import patterns
from stillroom.looking.handwriting import Handwriting
from stillroom.looking.questions import SETTINGS, Question
from stillroom.looking.recognising import Recognised
from stillroom.objects import SourceFile
from stillroom.reading import workbook


def remarks_on(questions: Sequence[Question]) -> list[str]:
    """The settings that would answer, as remarks for the settings' text."""
    found = []
    for question in questions:
        if not question.needed or question.key not in SETTINGS:
            continue
        if question.options:
            found.append("delete the # before the one that is right:")
        found += [
            f"{question.key} = {toml(SETTINGS[question.key](option.value))}    # {option.label}"
            for option in question.options
        ]
    return found


def hints(house: House, candidate: Candidate) -> list[str]:
    """Remarks for the settings' text on which files it names."""
    if not patterns.inside(house, candidate.path):
        return ['the file lies outside this folder: copy it in, and name it by files = ["folder/*.csv"]']
    return []


def noted(house: House, plan: Plan, seen: Recognised, told: Handwriting) -> tuple[str, ...]:
    """What else to think of before the file is taken in."""
    notes = [note.format(heading) for heading, note in _headings_that_tell(house, plan)]
    if told.date_unread:
        notes.append(
            f"'{told.date_unread}' is written in no way that is known: date_format can say it in strftime codes, with "
            "names of months in a dozen languages and of days in English. A moment needs a time of day, too."
        )
    if plan.settings.dates_are == WHOLE_DAYS:
        notes.append("No time of day stands there: each row is read as what was sold in a whole business day.")
    if told.iso and (told.date_format or told.ways) and seen.kind == "a workbook":
        notes.append(
            "Some dates are the workbook's own, and some are text: a program that took days for months leaves such a "
            "mixture, and its own dates are wrong then. Compare some with where they come from."
        )
    notes += _on_sheets(house, plan, seen)
    silent = "venue" not in plan.layout.headings and "venue" not in plan.layout.constants
    if plan.table.needs_venue and silent and len(house.venues) > 1:
        notes.append("The house has several venues, and the file does not say which: venue_in_name or constants can.")
    if plan.settings.encoding == "cp1252":
        notes.append("It is not UTF-8, and was read as cp1252: see whether letters with accents look right.")
    partners = sorted({reference.table for reference in plan.table.references})
    if partners:
        notes.append(f"Whether each row has its partner in the table {' and '.join(partners)}, only intake can tell.")
    return tuple(notes)


def _on_sheets(house: House, plan: Plan, seen: Recognised) -> Iterator[str]:
    """Which other sheets of a workbook are read, and which are not."""
    file = SourceFile(path=plan.file.path, name=plan.file.name)
    own = workbook.sheets_meant(file, plan.settings.sheet) if seen.sheet is not None and plan.settings.sheet else []
    path = real(plan.file.path)
    read = {*own, *(one.sheet for one in planning.named_by_settings(house) if one.path == path)}
    alike = [sheet for sheet in seen.sheets_alike if sheet in own]
    if alike:
        yield (
            f"Read alike, with the same headings: sheet {_listed(alike)}; the rows here are those of '{seen.sheet}'. "
            "If one only repeats the rows of others (a year beside its months), name those to read."
        )
    if left := [sheet for sheet in seen.sheets_alike if sheet not in read]:
        yield f'NOT read, with the same headings: sheet {_listed(left)}. sheet = "*" reads all, a list those in it.'
    if left := [sheet for sheet in seen.sheets_unlike if sheet not in read]:
        yield f"Not read: sheet {_listed(left)}. If one holds another table, look again and name it with --table."


def _listed(sheets: list[str]) -> str:
    return ", ".join(f"'{sheet}'" for sheet in sheets)


def _headings_that_tell(house: House, plan: Plan) -> Iterator[tuple[str, str]]:
    """Headings whose own words say that their cells may be something else than the column, and what to do."""
    amounts = plan.layout.headings.get("net_amount", ())
    moments = plan.layout.headings.get("sold_at", ())
    for heading in amounts:
        if re.search(r"(?i)\b(unit|each|per)\b", heading):
            yield heading, "'{}' may be the price of one: net_amount is that of the whole line."
    for heading in moments:
        if plan.settings.time_zone is None and house.time_zone != "UTC" and re.search(r"(?i)\b(utc|gmt)\b", heading):
            yield heading, "'{}' may be on another clock than the house: time_zone = \"UTC\" says so."


def new_name(house: House, candidate: Candidate, wanted: str | None, files: Sequence[str]) -> str:
    """A name that no source has: the wanted one, or else one after its files, or their folder if they are but days.

    `files`: the patterns of the source; the name of a source of one file alone may have a day in it.
    """
    if wanted is not None and wanted not in (source.name for source in house.sources):
        return wanted
    path = candidate.path
    alone = patterns.inside(house, path) and tuple(files) == (patterns.exact(house, path),)
    stem = patterns.ENDINGS.sub("", path.name) if alone else patterns.called(path)
    if not re.search(r"[^\W\d_]", stem):
        stem = path.absolute().parent.name or stem
    stem = " ".join("".join(c if c.isprintable() else " " for c in stem).split()) or "file"
    taken = {source.name for source in house.sources}
    names = (stem if number == 1 else f"{stem} {number}" for number in range(1, len(taken) + 2))
    return next(name for name in names if name not in taken)
