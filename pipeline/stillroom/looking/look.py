"""Looking at one file: what it is, which source fits, what would land, and the settings that take it in."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Final

from stillroom.errors import FileRefused, SettingsError, StillroomError, UsageError
from stillroom.files import real
from stillroom.house import settings_text
from stillroom.house.house import House
from stillroom.house.model import SourceSettings, Wide
from stillroom.house.settings_text import source_text
from stillroom.intake import corrections, planning
from stillroom.intake.outcome import Progress
from stillroom.intake.planning import Candidate, Plan
from stillroom.intake.shaping import AROUND
from stillroom.looking import asked, patterns, proposal, recognising
from stillroom.looking.handwriting import Handwriting
from stillroom.looking.headings import Fit
from stillroom.looking.patterns import Kin
from stillroom.looking.questions import SETTINGS, Question, answered
from stillroom.looking.recognising import Recognised
from stillroom.looking.rehearsal import Rehearsal, rehearse
from stillroom.looking.surveyed import says_ounces, with_handwriting
from stillroom.naming import without_sheet
from stillroom.objects import SourceFile
from stillroom.plugins.registry import Registry
from stillroom.reading import workbook
from stillroom_schemas import fields

WOULD_LAND: Final = 0
SOME_WOULD_NOT: Final = 1
"""Exit codes, as those of intake: also where something has to be chosen first."""
NO_KIN: Final = Kin()
ASKED: Final = frozenset({"kind", "yield_amount"})
"""What the sheets of specs leave out, since their keeper knows it: it is asked."""


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


def look(
    house: House,
    registry: Registry,
    path: Path,
    *,
    source: str | None = None,
    plugin: str | None = None,
    table: str | None = None,
    sheets: tuple[str, ...] = (),
    kin: Kin = NO_KIN,
    answers: Mapping[str, str] | None = None,
    progress: Progress = lambda name, done, about: None,
) -> Look:
    """Look at a file; the store is not touched.

    Args:
        house: where it would be taken in.
        registry: the plugins.
        path: the file.
        source: a [[source]] of the settings to read it by; else the name of the new one.
        plugin: the plugin to read it with, and no other.
        table: the table that it fills, and no other.
        sheets: the only sheets of a workbook to look at, and no source that is there; else all.
        kin: other files that the pattern of its source has to find, or not.
        answers: question's key -> what the file's keeper says (see `questions`).
        progress: as of an intake.

    Raises:
        FileRefused: nothing of it can be read, or no table fits.
        SettingsError: there is no such plugin or table.
        PluginError: its source's plugin fails.
    """
    asked_for = _AskedFor(source=source, plugin=plugin, table=table, sheets=sheets, answers=answers or {})
    try:
        seen = _look(house, registry, path, asked_for, kin, progress)
    except FileRefused:
        reader = recognising.own_reader(planning.named_by_user(house, [path], None)[0], registry)
        if reader is None or plugin is not None:
            raise
        return _look(house, registry, path, replace(asked_for, plugin=reader.name), kin, progress)
    if table is not None or seen.there_already:
        return seen
    return replace(seen, companion=_companion(house, registry, seen, asked_for, kin, progress))


def _companion(
    house: House, registry: Registry, seen: Look, asked_for: _AskedFor, kin: Kin, progress: Progress
) -> Look | None:
    """What the same rows say of another table: where they have headings for it that the first has no use for."""
    tables = registry.tables
    for name in registry.sources[seen.plugin].tables:
        pair = {(name, seen.table), (seen.table, name)}
        if not any((one.name, to.table) in pair for one in tables.values() for to in one.references):
            continue
        wanted = replace(asked_for, source=f"{seen.source}, {name}", plugin=seen.plugin, table=name)
        try:
            other = _look(house, registry, seen.path, wanted, kin, progress)
        except StillroomError:
            continue
        own = {heading for several in other.columns.values() for heading in several} & {*seen.unused}
        lands = other.rehearsal is not None and other.rehearsal.outcome.rows_landed > 0
        if own and other.recognised.sheet == seen.recognised.sheet and (lands or set(other.missing) <= ASKED):
            return other
    return None


@dataclass(frozen=True, kw_only=True)
class _AskedFor:
    """How the file is to be read, as far as that is said."""

    source: str | None
    plugin: str | None
    table: str | None
    sheets: tuple[str, ...]
    answers: Mapping[str, str]


def _look(house: House, registry: Registry, path: Path, asked_for: _AskedFor, kin: Kin, progress: Progress) -> Look:
    source, plugin, table = asked_for.source, asked_for.plugin, asked_for.table
    sheets, answers = asked_for.sheets, asked_for.answers
    known = next((one for one in house.sources if one.name == source), None)
    candidate = planning.named_by_user(house, [path], source if known else None)[0]
    candidate = replace(candidate, name=without_sheet(candidate.name, candidate.sheet))
    if sheets:
        candidate = replace(candidate, settings=None, sheet=None, others=())
    claimed = candidate.settings
    if claimed is not None and claimed.query is not None:
        raise UsageError(f"Source '{claimed.name}' reads a database and no file; 'stillroom intake' takes it in.")
    with_plugin = registry.sources.get(plugin or (claimed.plugin if claimed else ""))
    recognised = recognising.recognised(candidate, claimed, with_plugin, sheets)
    _refuse_correction(candidate)
    plan = None
    readers = _readers_of_sheets(house, registry, path)
    if claimed is not None and plugin is None and table is None:
        plan = _planned_as_claimed(candidate, claimed, recognised, registry)
    fit = None
    if plan is None:
        candidate = replace(candidate, sheet=None)
        plugin = plugin or (source if source in registry.sources else _plugin_of(claimed, table, registry))
        table = table or (claimed.table if claimed and plugin == claimed.plugin else None)
        fit, settings, recognised = recognising.best_fit(candidate, recognised, registry, plugin, table, answers)
        if recognised.sheet is not None:
            reader = readers.get(recognised.sheet)
            if readers and not settings.sheet:
                settings = settings.model_copy(update={"sheet": (recognised.sheet,)})
            candidate = replace(candidate, settings=reader, sheet=recognised.sheet)
        settings = _named(house, registry, candidate, settings, kin, source)
        settings = _answered(registry, settings, answers, recognised, fit)
        fit = _with_answers(fit, settings)
        taxed = any(question.needed for question in asked.of_tax(settings, house))
        if fit.missing or taxed:
            return _incomplete(house, registry, candidate, recognised, fit, settings)
        plan = planning.plan(replace(candidate, settings=settings), registry)
        if says_ounces(plan):
            return _incomplete(house, registry, candidate, recognised, fit, settings, ounces=True)
    plan, told = with_handwriting(house, registry, candidate, plan, recognised)
    if claimed is not None and fit is None and plan.settings != claimed:
        plan = replace(plan, settings=_named(house, registry, candidate, plan.settings, kin))
    if not plan.settings.book:
        recognised = recognising.as_read(recognised, plan.file, plan.source)
    return _looked(house, registry, candidate, recognised, fit, plan, told, progress)


def _answered(
    registry: Registry, settings: SourceSettings, answers: Mapping[str, str], recognised: Recognised, fit: Fit
) -> SourceSettings:
    """The settings with those answers that are not about another table of the plugin alone."""
    columns = {name: fields.allowed(column) for name, column in fit.table.schema().columns.items()}
    others = {name for table in fit.source.tables for name in registry.tables[table].schema().columns} - {*columns}
    ours = {key: said for key, said in answers.items() if key not in others}
    headings = (*recognised.headings, *(AROUND if settings.book else ()))
    return answered(settings, ours, headings, columns)


def _with_answers(fit: Fit, settings: SourceSettings) -> Fit:
    """The fit with what the answers fill; a drink makes one serve."""
    said = {*settings.columns, *settings.constants, *(("kind", "yield_amount") if settings.kinds_by_row else ())}
    missing = tuple(name for name in fit.missing if name not in said)
    return replace(fit, missing=missing, columns=fit.columns | settings.columns)


def _readers_of_sheets(house: House, registry: Registry, path: Path) -> dict[str, SourceSettings]:
    """Sheet of a workbook -> the source that reads it by the settings as they are."""
    found: dict[str, SourceSettings] = {}
    for candidate in planning.named_by_user(house, [path], None):
        try:
            sheet = planning.plan(candidate, registry).file.sheet if candidate.settings else None
        except StillroomError:  # a source that does not fit reads nothing
            continue
        if sheet is not None and candidate.settings is not None:
            found.setdefault(sheet, candidate.settings)
    return found


def _plugin_of(claimed: SourceSettings | None, table: str | None, registry: Registry) -> str | None:
    """The plugin of the source that names the file, unless it does not fill the table that is asked for."""
    if claimed is None or claimed.plugin not in registry.sources:
        return claimed.plugin if claimed else None
    fills = registry.sources[claimed.plugin].tables
    return claimed.plugin if table is None or table in fills else None


def write_settings(house: House, registry: Registry, seen: Look) -> House:
    """Write the proposed [[source]] into stillroom.toml, once it is certain that it takes the file in.

    Gives the house with these settings.

    Raises:
        SettingsError: something has to be said first, a source of that name is there, or the file cannot be written.
    """
    if seen.missing or seen.settings_text is None:
        raise SettingsError(f"{seen.file}: nothing was written: no heading fits {', '.join(seen.missing)}.")
    text, found = settings_text.with_source(house, registry, seen.source, seen.settings_text, seen.before)
    if seen.named and not _found_by_intake(found, seen.path, seen.source):
        raise SettingsError(f"{seen.file}: no setting can name such a file; nothing was written. Rename it.")
    settings_text.replace_settings(house, text)
    return found


def write_answer(house: House, registry: Registry, seen: Look, key: str, said: str) -> House:
    """Write what is said of a file that a source reads already into that source's settings; gives the house with it.

    Raises:
        UsageError: it is no answer.
        SettingsError: the settings cannot be written; they are as they were.
    """
    before = next(source for source in house.sources if source.name == seen.source)
    columns = registry.tables[seen.table].schema().columns
    words = {name: fields.allowed(column) for name, column in columns.items()}
    after = answered(before, {key: said}, seen.recognised.headings, words)
    for table in ("columns", "constants"):
        for name, value in getattr(after, table).items():
            if getattr(before, table).get(name) != value:
                house = settings_text.write_setting(house, registry, seen.source, name, value, table)
    if key in SETTINGS:
        house = settings_text.write_setting(house, registry, seen.source, key, getattr(after, key))
    return house


def _refuse_correction(candidate: Candidate) -> None:
    if corrections.is_one(candidate):
        raise FileRefused(
            f"{candidate.name}: holds rows that were set aside and corrected; it needs no settings: "
            f"'stillroom intake {candidate.name}' takes it in."
        )


def _planned_as_claimed(
    candidate: Candidate, claimed: SourceSettings, recognised: Recognised, registry: Registry
) -> Plan | None:
    """The plan by the settings that name the file, in its own encoding; None where its headings do not fit them."""
    settings = claimed
    if recognised.encoding in recognising.TO_BE_NAMED and claimed.encoding == "utf-8":
        settings = claimed.model_copy(update={"encoding": recognised.encoding})
    try:
        return planning.plan(replace(candidate, settings=settings), registry)
    except FileRefused:
        return None


def _looked(
    house: House,
    registry: Registry,
    candidate: Candidate,
    recognised: Recognised,
    fit: Fit | None,
    plan: Plan,
    told: Handwriting,
    progress: Progress,
) -> Look:
    settings = plan.settings
    there = settings in house.sources
    suggested = fit.suggested if fit else frozenset()
    rehearsal = rehearse(house, registry, plan, progress)
    questions = (
        *_open(house, candidate, recognised, settings, told),
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
        unused=() if settings.wide else tuple(h for h in plan.layout.unused if not h.startswith("(column ")),
        missing=(),
        unfit={},
        wide=settings.wide,
        date_format=settings.date_format,
        decimal=settings.decimal or ".",
        questions=questions,
        notes=proposal.noted(house, plan, recognised, told),
        rehearsal=rehearsal,
        settings_text=text,
        before=candidate.settings.name if candidate.settings and not there else None,
        named=_found_by_intake(house, candidate.path, settings.name) if there else bool(settings.files),
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


def _named(
    house: House,
    registry: Registry,
    candidate: Candidate,
    settings: SourceSettings,
    kin: Kin,
    wanted: str | None = None,
) -> SourceSettings:
    """The settings as a new source for this file and its kind."""
    name = proposal.new_name(house, candidate, wanted)
    files = patterns.proposed(house, registry, candidate, settings, kin)
    return settings.model_copy(update={"name": name, "files": files})


def _found_by_intake(house: House, path: Path, source: str) -> bool:
    """Whether the settings name the file, under that source."""
    named = {(c.path, c.settings.name) for c in planning.named_by_settings(house) if c.settings}
    return (real(path), source) in named


def _turned(settings: SourceSettings, name: str) -> bool:
    return settings.wide is not None and name in (settings.wide.headings_are, settings.wide.cells_are)


def _incomplete(
    house: House,
    registry: Registry,
    candidate: Candidate,
    recognised: Recognised,
    fit: Fit,
    settings: SourceSettings,
    *,
    ounces: bool = False,
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
    questions = (*_open(house, candidate, recognised, settings, told), *asked.of_columns(fit, recognised))
    if ounces:
        questions = (*questions, asked.OF_OUNCES)
    remarks = proposal.remarks_on(questions)
    taxed = any(question.needed and question.key == "tax_pct" for question in questions)
    if gaps := [f'{name} = "..."' for name in fit.missing]:
        remarks += ["still to be said, each under [source.columns] as a heading, or under [source.constants]:", *gaps]
    tax_inside = (
        {"net_amount": f"{fit.columns['net_amount'][0]!r}, once it is said what tax is inside"} if taxed else {}
    )
    used = {heading for several in fit.columns.values() for heading in several}
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
        unused=tuple(h for h in recognised.headings if h not in used and not h.startswith("(column ")),
        missing=(*fit.missing, *tax_inside, *(("oz",) if ounces else ())),
        unfit={**fit.unfit, **tax_inside},
        wide=None,
        date_format=settings.date_format,
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
