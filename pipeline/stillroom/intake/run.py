"""One intake run: every file planned, read, checked and landed; a fault in one file stops that file alone."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from typing import TypeVar

from stillroom.errors import FileRefused, PluginError, SettingsError, StillroomError, in_one_line
from stillroom.files import real
from stillroom.house.decisions import Cells, Decisions, Edition, Name
from stillroom.house.house import House
from stillroom.intake import by_hand, corrections, file_intake, planning, source_rows
from stillroom.intake.file_intake import Desk
from stillroom.intake.layouts import WrongHeadings
from stillroom.intake.outcome import Outcome, Progress
from stillroom.intake.planning import Candidate, Plan
from stillroom.naming import without_sheet
from stillroom.plugins.registry import BUILT_IN, Registry
from stillroom.store import in_force, layout, ledger, opening

REFUSALS = (FileRefused, PluginError, SettingsError)
Result = TypeVar("Result")


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
    desk = replace(desk, there=frozenset(_readers(ours)), named=bool(paths))
    named = planning.named_by_user(desk.house, paths, source, desk.decisions) if paths else ours
    refused, jobs = jobs_of(desk, named, ours)
    yield from refused
    for job in jobs:
        done = _tried(job.candidate, partial(job.done, desk))
        yield from [_refused(job.candidate, done)] if isinstance(done, StillroomError) else done
    if not paths:
        yield from _missing(desk)


def jobs_of(desk: Desk, named: list[Candidate], ours: list[Candidate]) -> tuple[list[Outcome], list[Job]]:
    """What is to be done with these candidates, partners first and corrections last; and what cannot be done at all."""
    refused: list[tuple[Candidate, StillroomError]] = []
    jobs: list[Job] = []
    at: dict[tuple[Path, str | None], int] = {}
    """(file, sheet) -> the place of what reads it among the jobs."""
    known = frozenset((real(one.path), name) for one in ours for name, _ in _readers([one]))
    for candidate in named:
        place = at.get((candidate.path, candidate.sheet))
        if place is not None and not jobs[place].has_room_for(candidate):
            continue  # the first source that reads a file, or a sheet of it, has it
        job = _tried(candidate, partial(_job, desk, candidate, known))
        if isinstance(job, StillroomError):
            refused.append((candidate, job))
            continue
        place = at.get((candidate.path, job.sheet))
        if place is not None and jobs[place].has_room_for(candidate):
            jobs[place] = jobs[place].with_more(job, list(desk.registry.tables))
            continue
        if job.plans:
            at.setdefault((candidate.path, job.sheet), len(jobs))
        jobs.append(job)
    told, jobs = _settled(desk, refused, jobs)
    order = list(desk.registry.tables)
    # What fills several tables comes behind files of the first of them alone, and before those of the next.
    places = {id(one): order.index(one.plans[0].table.name) if one.plans else len(order) for one in jobs}
    return told, sorted(jobs, key=lambda one: (places[id(one)], len(one.plans) > 1))


def _settled(
    desk: Desk, refused: list[tuple[Candidate, StillroomError]], jobs: list[Job]
) -> tuple[list[Outcome], list[Job]]:
    """The refusals to tell. A file that one source of several can read is none, unless the other has read it before."""
    told: list[Outcome] = []
    for candidate, refusal in refused:
        same = [job for job in jobs if job.plans and job.candidate.path == candidate.path]
        by = next((job for job in same if candidate.sheet in (None, job.sheet)), None)
        if by is not None and by.has_room_for(candidate) and isinstance(refusal, WrongHeadings):
            assert candidate.settings is not None
            if (candidate.settings.name, candidate.name) not in desk.decisions.latest:
                continue
            jobs = [job for job in jobs if job is not by]  # all that the file says, or nothing of it
        if by is not None or all(one.file != candidate.name for one in told):
            told.append(_refused(candidate, refusal))
    return told, jobs


def _refused(candidate: Candidate, refusal: StillroomError) -> Outcome:
    return Outcome(file=candidate.name, status="refused", problem=str(refusal))


def _tried(candidate: Candidate, work: Callable[[], Result]) -> Result | StillroomError:
    """What the work comes to; where it cannot be done, the refusal: a fault stops its own file alone.

    What is wrong with the store or the decisions stops everything.
    """
    from polars.exceptions import PanicException

    try:
        return work()
    except REFUSALS as refusal:
        return refusal
    except (Exception, PanicException) as error:
        if isinstance(error, StillroomError) or opening.is_of_the_store(error):
            raise
        what = f"this is a fault in Stillroom ({in_one_line(error)}), please report it"
        return FileRefused(f"{candidate.name}: nothing of it was taken in; {what}.")


@dataclass(frozen=True, kw_only=True)
class Job:
    """One file to take in, or one of corrections to follow."""

    candidate: Candidate
    plans: tuple[Plan, ...]
    """For each table that it fills; none of a file of corrections."""
    by_hand: bool = False

    @property
    def sheet(self) -> str | None:
        """The sheet that is read of a workbook."""
        return self.plans[0].file.sheet if self.plans else None

    def has_room_for(self, candidate: Candidate) -> bool:
        """Whether a candidate's source fills another table from the same file."""
        ours = [plan.settings for plan in self.plans]
        return candidate.settings is not None and planning.reads_beside(candidate.settings, *ours)

    def with_more(self, other: Job, order: list[str]) -> Job:
        """The job with what another reads of the same file."""
        both = sorted((*self.plans, *other.plans), key=lambda plan: order.index(plan.table.name))
        return replace(self, plans=tuple(both))

    def done(self, desk: Desk) -> list[Outcome]:
        """Do it, and tell what became of the file."""
        if not self.plans:
            return _correct(desk, self.candidate)
        if not self.by_hand:
            return file_intake.take_in_together(desk, self.plans)
        return [_taken_in_by_hand(desk, self.candidate, self.plans[0])]


def _job(desk: Desk, candidate: Candidate, known: frozenset[tuple[Path, str]]) -> Job:
    """`known`: (path, source) of all that the settings name."""
    if candidate.problem:
        raise FileRefused(candidate.problem)
    if corrections.is_one(candidate):
        return Job(candidate=candidate, plans=())
    plan = planning.plan(candidate, desk.registry)
    # Only of plugins: a change in a table of ours has stopped everything before.
    if plan.table.name not in BUILT_IN and layout.changed_tables(desk.con, [plan.table]):
        raise FileRefused(
            f"{plan.file.name}: its plugin has changed the columns of {plan.table.name} since the store was made. The "
            "source files are the truth: move the store away and run 'stillroom intake'."
        )
    new = candidate.path != desk.house.folder and (real(candidate.path), plan.settings.name) not in known
    return Job(candidate=candidate, plans=(plan,), by_hand=new)


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
        [outcome] = file_intake.take_in_together(desk, [plan], by_hand=True)
        if outcome.status == "no rows yet":
            raise FileRefused(f"{candidate.name}: {outcome.problem}.")
        return outcome


def _correct(desk: Desk, candidate: Candidate) -> list[Outcome]:
    """Note the corrections of a file, and read that file anew with them, for every table that it fills."""
    given = corrections.read(desk.con, candidate)
    rows, of = given.rows, [entry.edition for entry in given.entries]
    if not desk.named:  # what was undone comes back when it is asked for
        rows = {n: cells for n, cells in rows.items() if not all(desk.decisions.is_withdrawn(e, n, cells) for e in of)}
    if given.rows and not rows:
        problem = "was undone: name it in 'stillroom intake' to take it in again"
        return [Outcome(file=candidate.name, status="undone", problem=problem)]
    if not rows:
        problem = "holds no row that waits and was corrected; nothing changed"
        return [Outcome(file=candidate.name, status="unchanged", problem=problem)]
    return corrected(desk, of, rows, candidate.name)


def corrected(desk: Desk, editions: list[Edition], rows: Mapping[int, Cells], name: str) -> list[Outcome]:
    """Read a file anew with corrected rows, for every table that it fills; `name`: of what brings them.

    Raises:
        FileRefused: the file has changed since, or several rows stand in a line that is corrected.
    """
    plans = plans_of(desk, editions)
    if not plans:
        raise FileRefused(
            f"{name}: corrects rows of {editions[0].file}, which has changed since or is gone: correct them where they "
            "lie."
        )
    outcomes = file_intake.take_in_together(desk, plans, corrected=rows)
    return [replace(done, corrected_by=name) for done in outcomes]


def plans_of(desk: Desk, editions: list[Edition]) -> list[Plan]:
    """How the editions of a file are read now, one of each table that it fills; none where it holds another."""
    plans = [plan for edition in editions if (plan := plan_of(desk, edition)) is not None]
    whole = len(plans) == len(editions) and source_rows.fingerprint(plans[0]) == editions[0].content
    return plans if whole else []


def plan_of(desk: Desk, edition: Edition) -> Plan | None:
    """How the file of an edition is read now; None where it is not there."""
    for one in planning.named_by_settings(desk.house, desk.decisions):
        if (edition.source, edition.file) in _readers([one]):
            plan = planning.plan(one, desk.registry)
            return plan if plan.settings.name == edition.source else None
    return None


def read_now(desk: Desk) -> set[Name]:
    """Every file that is named, without a sheet, with each source that may read it."""
    return {
        (settings.name, without_sheet(one.name, one.sheet))
        for one in planning.named_by_settings(desk.house, desk.decisions)
        for settings in (one.settings, *one.others)
        if settings is not None
    }


def _missing(desk: Desk) -> Iterator[Outcome]:
    """Files that no source reads any more: those that lie there, and those kept by hand that do not.

    Whether they are gone for good, nobody has said.
    """
    kept = in_force.kept_by(desk.house, desk.registry.tables)
    standing = ledger.entries(desk.con, "intake_id IN (SELECT intake_id FROM standing)")
    read, folder = read_now(desk), desk.house.folder
    unread = [one for one in standing if in_force.file_of(one, desk.decisions) not in read]
    away = [(one, os.path.isfile(folder / one.path)) for one in unread]
    missing = [(one, lies) for one, lies in away if lies or kept(one.source, one.table_name)]
    rows = in_force.counts(desk.con, desk.registry.tables) if missing else {}
    for entry, lies in missing:
        why = f"is read no more by source '{entry.source}'" if lies else "is not there any more"
        yield Outcome(
            file=entry.file,
            status="missing",
            source=entry.source,
            table=entry.table_name,
            intake_id=entry.intake_id,
            problem=f"{why}; {rows.get(entry.intake_id, 0):,} rows of it still count",
        )
