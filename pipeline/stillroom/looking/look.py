"""Looking at one file: what it is, which source fits, and what is still to be said."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Final

from stillroom.errors import FileRefused, StillroomError, UsageError
from stillroom.house.house import House
from stillroom.house.model import SourceSettings
from stillroom.intake import corrections, how_read, planning
from stillroom.intake.outcome import Progress
from stillroom.intake.planning import Candidate, Plan
from stillroom.intake.shaping import AROUND
from stillroom.looking import asked, fitting, patterns, pinning, proposal, recognising
from stillroom.looking.encodings import TO_BE_NAMED
from stillroom.looking.headings import Fit
from stillroom.looking.patterns import Kin
from stillroom.looking.questions import answered
from stillroom.looking.recognising import Recognised
from stillroom.looking.seen import Look, incomplete, looked
from stillroom.looking.surveyed import with_handwriting
from stillroom.looking.unclear import of_evenings, unclear
from stillroom.naming import without_sheet
from stillroom.plugins.registry import Registry
from stillroom_schemas import fields

NO_KIN: Final = Kin()
ASKED: Final = frozenset({"kind", "yield_amount"})
"""What the sheets of specs leave out, since their keeper knows it: it is asked."""


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
        fit, settings, recognised = fitting.best_fit(candidate, recognised, registry, plugin, table, answers)
        if recognised.sheet is not None:
            reader = readers.get(recognised.sheet)
            if readers and not settings.sheet:
                settings = settings.model_copy(update={"sheet": (recognised.sheet,)})
            candidate = replace(candidate, settings=reader, sheet=recognised.sheet)
        settings = _named(house, registry, candidate, settings, kin, source)
        settings = _answered(registry, settings, answers, recognised, fit)
        fit = _with_answers(fit, settings, answers)
        taxed = any(question.needed for question in asked.of_tax(settings, house))
        if fit.missing or taxed:
            return incomplete(house, registry, candidate, recognised, fit, settings)
        plan = planning.plan(replace(candidate, settings=settings), registry)
        if still := unclear(plan):
            return incomplete(house, registry, candidate, recognised, fit, settings, still)
    plan, told = with_handwriting(house, registry, candidate, plan, recognised)
    still = tuple(of_evenings(plan, how_read.clock_of(plan.settings, house), house.day_starts_at))
    if fit is not None and still:
        return incomplete(house, registry, candidate, recognised, fit, plan.settings, still)
    if claimed is not None and fit is None and plan.settings != claimed:
        plan = replace(plan, settings=_named(house, registry, candidate, plan.settings, kin))
    elif fit is not None and plan.settings.year is not None:  # read as that year's, so no pattern for other years
        plan = replace(plan, settings=_named(house, registry, candidate, plan.settings, kin, source))
    if fit is None:  # a source of the settings lands what it reads, but is asked the same
        still = (*unclear(plan), *still)
    if not plan.settings.book:
        recognised = pinning.as_read(recognised, plan.file, plan.source)
    return looked(house, registry, candidate, recognised, fit, plan, told, progress, still)


def _answered(
    registry: Registry, settings: SourceSettings, answers: Mapping[str, str], recognised: Recognised, fit: Fit
) -> SourceSettings:
    """The settings with those answers that are not about another table of the plugin alone."""
    columns = {name: fields.allowed(column) for name, column in fit.table.schema().columns.items()}
    others = {name for table in fit.source.tables for name in registry.tables[table].schema().columns} - {*columns}
    ours = {key: said for key, said in answers.items() if key not in others}
    headings = (*recognised.headings, *(AROUND if settings.book else ()))
    return answered(settings, ours, headings, columns)


def _with_answers(fit: Fit, settings: SourceSettings, answers: Mapping[str, str]) -> Fit:
    """The fit with what the answers fill; a drink makes one serve."""
    said = {*settings.columns, *settings.constants, *(("kind", "yield_amount") if settings.kinds_by_row else ())}
    missing = tuple(name for name in fit.missing if name not in said)
    suggested = fit.suggested - answers.keys()
    return replace(fit, missing=missing, columns=fit.columns | settings.columns, suggested=suggested)


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
    if recognised.encoding in TO_BE_NAMED and claimed.encoding == "utf-8":
        settings = claimed.model_copy(update={"encoding": recognised.encoding})
    try:
        return planning.plan(replace(candidate, settings=settings), registry)
    except FileRefused:
        return None


def _named(
    house: House,
    registry: Registry,
    candidate: Candidate,
    settings: SourceSettings,
    kin: Kin,
    wanted: str | None = None,
) -> SourceSettings:
    """The settings as a new source for this file and its kind."""
    files = patterns.proposed(house, registry, candidate, settings, kin)
    name = proposal.new_name(house, candidate, wanted, files)
    return settings.model_copy(update={"name": name, "files": files})
