"""What looking at a file shows: what would land, what is asked, and the settings that take it in."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Final

from stillroom.errors import FileRefused
from stillroom.files import real
from stillroom.house.house import House
from stillroom.house.model import SourceSettings, Wide
from stillroom.house.settings_text import source_text
from stillroom.intake import planning
from stillroom.intake.outcome import Progress
from stillroom.intake.planning import Candidate, Plan
from stillroom.looking import asked, proposal
from stillroom.looking.handwriting import Handwriting
from stillroom.looking.headings import Fit
from stillroom.looking.questions import Question
from stillroom.looking.recognising import Recognised
from stillroom.looking.rehearsal import Rehearsal, rehearse
from stillroom.looking.surveyed import with_handwriting
from stillroom.objects import SourceFile
from stillroom.plugins.registry import Registry
from stillroom.reading import workbook
from stillroom.reading.nameless import is_nameless

WOULD_LAND: Final = 0
SOME_WOULD_NOT: Final = 1
"""Exit codes, as those of intake: also where something has to be chosen first."""


@dataclass(frozen=True, kw_only=True)
class Look:
    """What looking at a file shows."""

    path: Path
    file: str
    recognised: Recognised
    source: str
    """The [[source]] that reads it, there already or proposed."""
    plugin: str
    table: str
    there_already: bool
    """stillroom.toml takes it in as it is."""
    columns: dict[str, tuple[str, ...]]
    """Column -> heading or headings."""
    suggested: frozenset[str]
    """Columns whose heading is only likely."""
    unused: tuple[str, ...]
    missing: tuple[str, ...]
    """Columns that every row needs and that no heading fits: without them nothing can land."""
    unfit: Mapping[str, str]
    """Such a column -> the heading that would fit it but for its cells."""
    wide: Wide | None
    date_format: str | None
    year: int | None
    """Of days without one."""
    decimal: str
    questions: tuple[Question, ...]
    notes: tuple[str, ...]
    rehearsal: Rehearsal | None
    """None where columns are missing."""
    settings_text: str | None
    """The [[source]] to add; None where it is there already."""
    before: str | None
    """The source before which it has to stand."""
    named: bool
    """A pattern of the source's names the file; else intake has to be told the source."""
    files: tuple[str, ...]
    """The patterns of the source."""
    sheets_left: tuple[str, ...]
    """Sheets of the workbook that it does not read, of those that were to be looked at."""
    companion: Look | None = None
    """What another table is filled with from the same rows, by a source of its own."""

    @property
    def exit_code(self) -> int:
        """As of intake."""
        aside = self.rehearsal is None or self.rehearsal.outcome.rows_set_aside > 0
        return SOME_WOULD_NOT if aside or any(one.needed for one in self.questions) else WOULD_LAND


def looked(
    house: House,
    registry: Registry,
    candidate: Candidate,
    recognised: Recognised,
    fit: Fit | None,
    plan: Plan,
    told: Handwriting,
    progress: Progress,
    still: tuple[Question, ...],
) -> Look:
    """What can be said of a file that can be taken in, by taking it in for trial.

    `still`: what is to be asked beside.
    """
    settings = plan.settings
    there = settings in house.sources
    suggested = fit.suggested if fit else frozenset()
    rehearsal = rehearse(house, registry, plan, progress)
    questions = (
        *_open(house, candidate, recognised, settings, told),
        *still,
        *_open_once_planned(house, plan, recognised, rehearsal),
    )
    if there:
        questions = tuple(question for question in questions if question.needed)
    remarks = proposal.remarks_on(questions)
    text = None if there else source_text(settings, suggested, [*remarks, *proposal.hints(house, candidate)])
    return Look(
        path=candidate.path,
        file=candidate.name,
        recognised=recognised,
        source=settings.name,
        plugin=settings.plugin,
        table=plan.table.name,
        there_already=there,
        columns={
            name: settings.columns.get(name, several) if name in plan.layout.counted else several
            for name, several in plan.layout.headings.items()
            if not _turned(settings, name)
        },
        suggested=suggested,
        unused=() if settings.wide else tuple(h for h in plan.layout.unused if not is_nameless(h)),
        missing=(),
        unfit={},
        wide=settings.wide,
        date_format=settings.date_format,
        year=settings.year,
        decimal=settings.decimal or ".",
        questions=questions,
        notes=proposal.noted(house, plan, recognised, told),
        rehearsal=rehearsal,
        settings_text=text,
        before=candidate.settings.name if candidate.settings and not there else None,
        named=found_by_intake(house, candidate.path, settings.name) if there else bool(settings.files),
        files=settings.files,
        sheets_left=_left(plan, recognised),
    )


def _left(plan: Plan, seen: Recognised) -> tuple[str, ...]:
    if seen.sheet is None:
        return ()
    file = SourceFile(path=plan.file.path, name=plan.file.name)
    read = [seen.sheet, *workbook.sheets_meant(file, plan.settings.sheet)]
    return tuple(sheet for sheet in (*seen.sheets_alike, *seen.sheets_unlike) if sheet not in read)


def _open(
    house: House, candidate: Candidate, seen: Recognised, settings: SourceSettings, told: Handwriting
) -> Iterator[Question]:
    """What the cells leave open of how they are written."""
    yield from asked.of_dates(told, house, settings, seen.separator)
    yield from asked.of_new_year(told, settings)
    yield from asked.of_year(told, settings, f"{candidate.name} {seen.sheet or ''}", candidate.path)
    yield from asked.of_decimal(told, house, seen.separator)
    yield from asked.of_tax(settings, house)


def _open_once_planned(house: House, plan: Plan, seen: Recognised, rehearsal: Rehearsal) -> Iterator[Question]:
    yield from asked.of_venue(house, plan)
    yield from asked.of_sheets(seen, plan.settings)
    yield from asked.of_rows(rehearsal, plan)


def found_by_intake(house: House, path: Path, source: str) -> bool:
    """Whether the settings name the file, under that source."""
    named = {(c.path, c.settings.name) for c in planning.named_by_settings(house) if c.settings}
    return (real(path), source) in named


def _turned(settings: SourceSettings, name: str) -> bool:
    return settings.wide is not None and name in (settings.wide.headings_are, settings.wide.cells_are)


def incomplete(
    house: House,
    registry: Registry,
    candidate: Candidate,
    recognised: Recognised,
    fit: Fit,
    settings: SourceSettings,
    still: tuple[Question, ...] = (),
) -> Look:
    """What can be said of a file in which a column that every row needs was not found, or what is in it is open."""
    # The other columns tell how dates and numbers are written; a constant stands in for what is missing.
    filled = settings.model_copy(update={"constants": settings.constants | dict.fromkeys(fit.missing, "?")})
    try:
        plan = planning.plan(replace(candidate, settings=filled), registry)
        plan, told = with_handwriting(house, registry, candidate, plan, recognised, fit.missing)
        settings = settings.model_copy(
            update={"date_format": plan.settings.date_format, "decimal": plan.settings.decimal}
        )
    except FileRefused:  # that it cannot be read yet is no news
        told = Handwriting()
    questions = (*_open(house, candidate, recognised, settings, told), *asked.of_columns(fit, recognised), *still)
    remarks = proposal.remarks_on(questions)
    taxed = any(question.needed and question.key == "tax_pct" for question in questions)
    if gaps := [f'{name} = "..."' for name in fit.missing]:
        remarks += ["still to be said, each under [source.columns] as a heading, or under [source.constants]:", *gaps]
    tax_inside = (
        {"net_amount": f"{fit.columns['net_amount'][0]!r}, once it is said what tax is inside"} if taxed else {}
    )
    return Look(
        path=candidate.path,
        file=candidate.name,
        recognised=recognised,
        source=settings.name,
        plugin=settings.plugin,
        table=fit.table.name,
        there_already=False,
        columns=fit.columns,
        suggested=fit.suggested,
        unused=fit.unused(recognised.headings),
        missing=(*fit.missing, *tax_inside, *(question.key for question in still)),
        unfit={**fit.unfit, **tax_inside},
        wide=None,
        date_format=settings.date_format,
        year=settings.year,
        decimal=settings.decimal or ".",
        questions=questions,
        notes=(),
        rehearsal=None,
        settings_text=source_text(settings, fit.suggested, [*remarks, *proposal.hints(house, candidate)]),
        before=candidate.settings.name if candidate.settings else None,
        named=bool(settings.files),
        files=settings.files,
        sheets_left=(),
    )
