"""What looking at a file proposes: a name and a pattern for its source, questions, remarks and notes."""

from __future__ import annotations

import glob
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Final

from stillroom.house.house import House
from stillroom.house.model import SourceSettings
from stillroom.house.toml import toml
from stillroom.intake import planning
from stillroom.intake.moments import NAMED_YEAR
from stillroom.intake.planning import Candidate, Plan
from stillroom.looking.handwriting import Handwriting
from stillroom.looking.questions import Option, Question
from stillroom.looking.recognising import Recognised
from stillroom.naming import as_text
from stillroom.objects import SourceFile
from stillroom.reading import workbook

GROSS: Final = (
    r"(?i)gross|brutto?\b|lordo|\bttc\b|\bin[ck]l|c/ ?iva|(?:con|com|avec|mit|med|met|inkl|s|z|with)\.? "
    r"(?:iva|tva|mwst|ust|moms|mva|btw|dph|vat|tax)"
)


def asked(told: Handwriting, settings: SourceSettings, said_by: str) -> tuple[tuple[Question, ...], list[str]]:
    """What to ask, and the settings that would answer, as remarks for the settings' text.

    `said_by`: what the file and its sheet are called.
    """
    questions: list[Question] = []
    remarks: list[str] = []
    if told.ways:
        options = [
            Option(value=way.date_format, label=f"{way.reads_as}: date_format = {toml(way.date_format)}")
            for way in told.ways
        ]
        questions.append(Question(key="date_format", text=f"'{told.ways[0].example}' may be", options=tuple(options)))
        remarks.append("delete the # before the one that is right:")
        remarks += [f"date_format = {toml(way.date_format)}    # {way.order}" for way in told.ways]
    if settings.year is None and told.date_format and not re.search(NAMED_YEAR, told.date_format):
        said = sorted(set(re.findall(r"(?<!\d)20\d\d(?!\d)", said_by)))
        years = tuple(Option(value=year, label=f"{year}: year = {year}") for year in said)
        default = said[0] if len(said) == 1 else None
        questions.append(
            Question(key="year", text="its days have no year: they are of", options=years, default=default)
        )
        remarks += ["the year of its days:", "year = 2026", f"date_format = {toml(told.date_format)}"]
    if told.decimal_open:
        mark, other, name = (",", ".", "comma") if "," in told.decimal_open else (".", ",", "dot")
        text = f"the {name} of '{told.decimal_open}' may part"
        options = [
            Option(value=other, label=f"thousands: decimal = {toml(other)}"),
            Option(value=mark, label=f"decimals: decimal = {toml(mark)}"),
        ]
        questions.append(Question(key="decimal", text=text, options=tuple(options)))
        remarks.append("delete the # before the one that is right:")
        remarks.append(f"decimal = {toml(other)}    # the {name} parts thousands")
        remarks.append(f"decimal = {toml(mark)}    # the {name} parts decimals")
    return tuple(questions), remarks


def tax_question(settings: SourceSettings) -> Question | None:
    """Asked where the heading of the money says that tax is inside: without an answer, no row can land."""
    for heading in settings.columns.get("net_amount", ()):
        if settings.tax_pct is None and re.search(GROSS, heading):
            text = f"'{heading}' says that tax is inside, and net_amount is before tax: how many per cent is it?"
            return Question(key="tax_pct", text=text, options=(Option(value="0", label="none: tax_pct = 0"),))
    return None


def hints(house: House, candidate: Candidate) -> list[str]:
    """Remarks for the settings' text on which files it names."""
    pattern = pattern_of(house, candidate)
    if not pattern:
        return ['the file lies outside this folder: copy it in, and name it by files = ["folder/*.csv"]']
    path = Path(candidate.name)
    stem = re.sub(r"\d+(?:[-_. ]\d+)*", "*", path.stem)
    if stem != path.stem and pattern == (candidate.name,):
        every = path.with_name(stem + path.suffix).as_posix()
        return [f"for all files of this kind: files = [{toml(every)}]"]
    return []


def noted(house: House, plan: Plan, seen: Recognised, told: Handwriting) -> tuple[str, ...]:
    """What else to think of before the file is taken in."""
    notes = [note.format(heading) for heading, note in _headings_that_tell(house, plan)]
    if told.date_unread:
        notes.append(
            f"'{told.date_unread}' is written in no way that is known: date_format can say it in strftime codes, with "
            "names of months in a dozen languages and of days in English. A moment needs a time of day, too."
        )
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
    path = plan.file.path.resolve()
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
        if plan.settings.dates_are is None and len(moments) > 1 and re.search(r"(?i)business|trading|shift", heading):
            yield (
                heading,
                "'{}' may be the day on which the evening began: a time after midnight is then of the day after, and "
                'lands a day early. If so, dates_are = "business days" puts it right.',
            )


def pattern_of(house: House, candidate: Candidate) -> tuple[str, ...]:
    """The pattern that names the file; none where it lies outside the house."""
    path, root = candidate.path.resolve(), house.folder.resolve()
    if not path.is_relative_to(root):
        return ()
    name = path.relative_to(root).as_posix()
    return (glob.escape(as_text(name)),)


def new_name(house: House, candidate: Candidate, wanted: str | None) -> str:
    """A name that no source has: the wanted one, or else one after the file."""
    if wanted is not None and wanted not in (source.name for source in house.sources):
        return wanted
    stem = re.sub(r"(\.(csv|tsv|txt|gz|zip|jsonl|xlsx|xls|ods|parquet))+$", "", candidate.path.name, flags=re.I)
    stem = " ".join("".join(c if c.isprintable() else " " for c in stem).split()) or "file"
    taken = {source.name for source in house.sources}
    names = (stem if number == 1 else f"{stem} {number}" for number in range(1, len(taken) + 2))
    return next(name for name in names if name not in taken)
