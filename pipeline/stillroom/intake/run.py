"""One intake run: every file planned, read, checked and landed; a fault in one file stops that file alone."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path

from stillroom.errors import FileRefused, PluginError, SettingsError
from stillroom.house.decisions import Decisions, Edition
from stillroom.house.house import House
from stillroom.intake import by_hand, corrections, file_intake, planning, source_rows
from stillroom.intake.file_intake import Desk
from stillroom.intake.outcome import Outcome, Progress
from stillroom.intake.planning import Candidate, Plan
from stillroom.naming import without_sheet
from stillroom.plugins.registry import Registry
from stillroom.store import in_force, layout, ledger, opening

REFUSALS = (FileRefused, PluginError, SettingsError)


def run(
    house: House,
    registry: Registry,
    paths: list[Path] | None = None,
    source: str | None = None,
    progress: Progress = lambda name, done, about: None,
) -> Iterator[Outcome]:
    """Take in the named files, or all that are the house's; yields each file's outcome as it ends.

    Raises:
        StoreError: the store is held by another process, damaged, or of a newer version.
        SettingsError: the settings name files outside the house.
        DecisionsError: the decisions are damaged or contradict each other; nothing is taken in.
    """
    with opening.writing(house, registry.tables.values()) as con:
        desk = Desk(con=con, house=house, registry=registry, decisions=Decisions.load(house.folder), progress=progress)
        yield from take_in_all(desk, paths, source)


def take_in_all(desk: Desk, paths: list[Path] | None = None, source: str | None = None) -> Iterator[Outcome]:
    """As `run`, into a store that is open."""
    ours = planning.named_by_settings(desk.house, desk.decisions)
    desk = replace(desk, there=frozenset(_readers(ours)))
    named = planning.named_by_user(desk.house, paths, source, desk.decisions) if paths else ours
    refused, jobs = jobs_of(desk, named, ours)
    yield from refused
    for job in jobs:
        try:
            yield job.done(desk)
        except REFUSALS as refusal:
            yield Outcome(file=job.candidate.name, status="refused", problem=str(refusal))
    if not paths:
        yield from _missing(desk)


def jobs_of(desk: Desk, named: list[Candidate], ours: list[Candidate]) -> tuple[list[Outcome], list[Job]]:
    """What is to be done with these candidates, partners first and corrections last; and what cannot be done at all."""
    refused: list[Outcome] = []
    jobs: list[Job] = []
    sheets: set[tuple[Path, str | None]] = set()  # the first source that reads a sheet has it
    for candidate in named:
        if candidate.sheet is not None and (candidate.path, candidate.sheet) in sheets:
            continue
        try:
            job = _job(desk, candidate, ours)
        except REFUSALS as refusal:
            refused.append(Outcome(file=candidate.name, status="refused", problem=str(refusal)))
            continue
        sheets.add((candidate.path, job.plan.file.sheet if job.plan else None))
        jobs.append(job)
    order = list(desk.registry.tables)
    return refused, sorted(jobs, key=lambda one: order.index(one.plan.table.name) if one.plan else len(order))


@dataclass(frozen=True, kw_only=True)
class Job:
    """One file to take in, or one of corrections to follow."""

    candidate: Candidate
    plan: Plan | None
    """None of a file of corrections."""
    by_hand: bool = False

    def done(self, desk: Desk) -> Outcome:
        """Do it, and tell what became of the file."""
        if self.plan is None:
            return _correct(desk, self.candidate)
        if not self.by_hand:
            return file_intake.take_in(desk, self.plan)
        return _taken_in_by_hand(desk, self.candidate, self.plan)


def _job(desk: Desk, candidate: Candidate, ours: list[Candidate]) -> Job:
    if corrections.is_one(candidate):
        return Job(candidate=candidate, plan=None)
    plan = planning.plan(candidate, desk.registry)
    if plan.table.name in layout.changed_tables(desk.con, [plan.table]):  # of plugins: those of ours stop everything
        raise FileRefused(
            f"{plan.file.name}: its plugin has changed the columns of {plan.table.name} since the store was made. The "
            "source files are the truth: move the store away and run 'stillroom intake'."
        )
    known = {(one.path.resolve(), name) for one in ours for name, _ in _readers([one])}
    new = candidate.path != desk.house.folder and (candidate.path.resolve(), plan.settings.name) not in known
    return Job(candidate=candidate, plan=plan, by_hand=new)


def _readers(candidates: list[Candidate]) -> Iterator[tuple[str, str]]:
    """(source, file) of every source that may read a candidate."""
    for one in candidates:
        for settings in (one.settings, *one.others):
            if settings is not None:
                yield settings.name, one.name


def _taken_in_by_hand(desk: Desk, candidate: Candidate, plan: Plan) -> Outcome:
    """Take in a file that is the house's from now on, where it proves to hold rows."""
    beside = plan.source.beside_of(candidate.path)
    with by_hand.brought_in(desk.house, candidate.path, beside) as path:
        if path != candidate.path:
            name = planning.shown(desk.house, path)
            plan = planning.plan(replace(candidate, path=path, name=name, settings=plan.settings), desk.registry)
        outcome = file_intake.take_in(desk, plan, by_hand=True)
        if outcome.status == "no rows yet":
            raise FileRefused(f"{candidate.name}: {outcome.problem}.")
        return outcome


def _correct(desk: Desk, candidate: Candidate) -> Outcome:
    """Note the corrections of a file, and read that file anew with them."""
    given = corrections.read(desk.con, candidate)
    edition, name = given.entry.edition, candidate.name
    if not given.rows:
        problem = "holds no row that waits and was corrected; nothing changed"
        return Outcome(file=name, status="unchanged", problem=problem)
    plan = _plan_of(desk, edition)
    if plan is None or source_rows.fingerprint(plan) != edition.content:
        raise FileRefused(
            f"{name}: corrects rows of {edition.file}, which has changed since or is gone: correct them where they lie."
        )
    try:
        desk.decisions.add("corrected", edition, rows=dict(sorted(given.rows.items())))
        return replace(file_intake.take_in(desk, plan), corrected_by=name)
    finally:
        desk.decisions.forget_unsaved()


def _plan_of(desk: Desk, edition: Edition) -> Plan | None:
    """How the file of an edition is read now; None where it is not there."""
    for one in planning.named_by_settings(desk.house, desk.decisions):
        if (edition.source, edition.file) in _readers([one]):
            plan = planning.plan(one, desk.registry)
            return plan if plan.settings.name == edition.source else None
    return None


def _missing(desk: Desk) -> Iterator[Outcome]:
    """Files kept by hand that count and are not there: whether they are gone for good, nobody has said."""
    there = {without_sheet(one.name, one.sheet) for one in planning.named_by_settings(desk.house, desk.decisions)}
    kept = in_force.kept_by(desk.house, desk.registry.tables)
    rows = in_force.counts(desk.con, desk.registry.tables)
    for entry in ledger.entries(desk.con, "intake_id IN (SELECT intake_id FROM standing)"):
        if entry.path not in there and kept(entry.source, entry.table_name):
            yield Outcome(
                file=entry.file,
                status="missing",
                source=entry.source,
                table=entry.table_name,
                intake_id=entry.intake_id,
                problem=f"is not there any more; {rows.get(entry.intake_id, 0):,} rows of it still count",
            )
