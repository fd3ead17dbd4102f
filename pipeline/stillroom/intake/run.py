"""One intake run: every file planned, read, checked and landed; a fault in one file stops that file alone."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

from stillroom.errors import FileRefused, PluginError, SettingsError
from stillroom.house.house import House
from stillroom.intake import corrections, file_intake, planning
from stillroom.intake.corrections import Correction
from stillroom.intake.outcome import Outcome, Progress
from stillroom.plugins.registry import Registry
from stillroom.store import layout, opening

if TYPE_CHECKING:
    import duckdb

    from stillroom.intake.planning import Candidate, Plan


def run(
    house: House,
    registry: Registry,
    paths: list[Path] | None = None,
    source: str | None = None,
    progress: Progress = lambda name, done, about: None,
) -> Iterator[Outcome]:
    """Take in the named files, or all that the settings name; yields each file's outcome as it ends.

    Raises:
        StoreError: the store is held by another process, damaged, or of a newer version.
        SettingsError: the settings name files outside the house.
    """
    candidates = planning.named_by_user(house, paths, source) if paths else planning.named_by_settings(house)
    with opening.writing(house, registry.tables.values()) as con:
        changed = layout.changed_tables(con, registry.tables.values())  # of plugins: those of ours stop everything
        planned: list[Plan | Correction] = []
        sheets: set[tuple[Path, str | None]] = set()  # the first source that reads a sheet has it
        for candidate in candidates:
            if candidate.sheet is not None and (candidate.path, candidate.sheet) in sheets:
                continue
            try:
                plan = _plan(con, candidate, house, registry)
                _refuse_changed(plan, changed)
            except (FileRefused, PluginError, SettingsError) as refusal:
                yield Outcome(file=candidate.name, status="refused", problem=str(refusal))
                continue
            sheets.add((candidate.path, _inner(plan).file.sheet))
            planned.append(plan)
        order = list(registry.tables)
        for plan in sorted(planned, key=lambda one: order.index(_inner(one).table.name)):
            try:
                yield file_intake.take_in(con, house, registry, plan, progress)
            except (FileRefused, PluginError) as refusal:
                yield Outcome(file=_inner(plan).file.name, status="refused", problem=str(refusal))


def _inner(plan: Plan | Correction) -> Plan:
    return plan.plan if isinstance(plan, Correction) else plan


def _refuse_changed(plan: Plan | Correction, changed: list[str]) -> None:
    table = _inner(plan).table.name
    if table in changed:
        raise FileRefused(
            f"{_inner(plan).file.name}: its plugin has changed the columns of {table} since the store was made. The "
            "source files are the truth: move the store away and run 'stillroom intake'."
        )


def _plan(con: duckdb.DuckDBPyConnection, candidate: Candidate, house: House, registry: Registry) -> Plan | Correction:
    correction = corrections.plan(con, candidate, house, registry)
    return correction or planning.plan(candidate, registry)
