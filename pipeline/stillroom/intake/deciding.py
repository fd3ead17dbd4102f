"""Decisions about files that were taken in: undo, redo, gone, confirm. Rows stay as they are; what counts follows."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from stillroom.errors import FileRefused, StoreError, UsageError
from stillroom.house.decisions import Decisions, Edition
from stillroom.house.house import House
from stillroom.intake import doubtful, landing, parting, planning
from stillroom.intake.file_intake import Desk, take_in_together
from stillroom.intake.outcome import Outcome, Progress
from stillroom.intake.run import corrected, plan_of, plans_of, read_now, take_in_all
from stillroom.plugins.registry import Registry
from stillroom.store import in_force, ledger, opening
from stillroom.store.transaction import transaction

if TYPE_CHECKING:
    import duckdb


@dataclass(frozen=True)
class Decided:
    """What was decided, and of which intake."""

    entry: ledger.Entry
    withdrawn: tuple[int, ...] = ()
    """Rows whose corrections were withdrawn; the file itself counts on."""


def undo(house: House, registry: Registry, which: str) -> Decided:
    """Take an intake out of force; what it had superseded counts again.

    Of an intake that read a file anew with corrections, these are withdrawn, and the file counts as it was read before.

    Args:
        which: the intake's number, or the file's name.

    Raises:
        UsageError: there is no such intake, or it is undone already.
        FileRefused: what would count then cannot be right, or the file is not there to be read as before.
    """
    with _open(house, registry) as desk:
        entry = _entry(desk, which)
        withdrawn = desk.decisions.withdraw(entry.edition, entry.corrections, _before(desk.con, entry))
        if not withdrawn:
            if (day := desk.decisions.undone.get(entry.edition)) is not None:
                raise UsageError(f"Intake {entry.intake_id} ({entry.file}) was undone already, on {day}.")
            desk.decisions.add("undone", entry.edition)
        left = desk.decisions.corrections_id(entry.edition)
        if withdrawn and all(one.corrections != left for one in ledger.readings(desk.con, entry.edition)):
            _read_anew(desk, entry)
        _settle(desk, f"undoing intake {entry.intake_id}")
        return Decided(entry, withdrawn)


def redo(
    house: House, registry: Registry, which: str, progress: Progress, tell: Callable[[Outcome], None]
) -> list[Outcome]:
    """Let a file count again that was undone, and take in what it needs: the file itself, and those that refer to it.

    Args:
        which: the intake's number, or the file's name.

    Raises:
        UsageError: it is not undone, or its rows are nowhere.
        FileRefused: what would count then cannot be right.
    """
    with _open(house, registry, progress) as desk:
        edition = _undone(desk, which)
        desk.decisions.add("redone", edition)
        there = {one.name for one in planning.named_by_settings(house, desk.decisions)}
        if not ledger.readings(desk.con, edition) and edition.file not in there:
            raise UsageError(f"{edition.file} is neither in the store nor in the house: put it back first.")
        _settle(desk, f"redoing {edition.file}")
        return _taken_in(desk, tell)


def gone(house: House, registry: Registry, file: str) -> list[Decided]:
    """Confirm that a file which is missing is gone for good: its rows count no longer.

    Raises:
        UsageError: no rows of such a file count, or it is there.
        FileRefused: what would count then cannot be right.
    """
    with _open(house, registry) as desk:
        standing = ledger.entries(desk.con, "intake_id IN (SELECT intake_id FROM standing)")
        found = [one for one in standing if file in (one.file, one.path)]
        if not found:
            raise UsageError(f"No rows of a file '{file}' count; 'stillroom ledger' lists all files.")
        read = read_now(desk)
        found = [one for one in found if (one.source, one.path) not in read]
        if not found:
            raise UsageError(f"{file} is there: 'stillroom undo {file}' takes its rows out, or delete it first.")
        for edition in [one for entry in found for one in desk.decisions.with_older(entry.edition)]:
            if desk.decisions.stands(edition):  # it may be older than two of them
                desk.decisions.add("gone", edition)
        _settle(desk, f"without {file}")
        return [Decided(entry) for entry in found]


def confirm(
    house: House,
    registry: Registry,
    file: str,
    rows: Sequence[int],
    progress: Progress,
    tell: Callable[[Outcome], None],
) -> tuple[tuple[int, ...], list[Outcome]]:
    """Confirm that rows which are set aside as doubtful are right, in this edition of their file and in later ones.

    Args:
        file: its name, as 'stillroom aside' shows it.
        rows: their numbers; none for all that are doubtful.

    Returns:
        the rows that were confirmed, and what became of all files.

    Raises:
        UsageError: there is no such row.
    """
    with _open(house, registry, progress) as desk:
        chosen = _doubtful(desk.con, file, rows)
        for intake_id in sorted({one[2] for one in chosen}):
            said = list(dict.fromkeys(row for _, row, of, _ in chosen if of == intake_id))
            said = [json.loads(row) for row in said]
            desk.decisions.add("confirmed", _entry(desk, str(intake_id)).edition, rows=said)
        _settle(desk, f"confirming rows of {file}")
        return tuple(sorted({number for number, *_ in chosen})), _taken_in(desk, tell)


def put_right(
    house: House,
    registry: Registry,
    file: str,
    days: Mapping[int, date],
    progress: Progress,
    tell: Callable[[Outcome], None],
) -> list[Outcome]:
    """Correct the days of rows that are set aside as doubtful; the file itself stays as it is.

    Args:
        file: its name, as 'stillroom aside' shows it.
        days: a row's number -> its day.

    Returns:
        what became of all files.

    Raises:
        UsageError: there is no such row, or its day stands in a heading.
        FileRefused: as `run.corrected`.
    """
    with _open(house, registry, progress) as desk:
        rows: dict[int, dict[str, str | None]] = {}
        for number, text, intake_id, column in _doubtful(desk.con, file, tuple(days)):
            plan = plan_of(desk, _entry(desk, str(intake_id)).edition)
            cells = rows.setdefault(number, json.loads(text))
            heading = plan.layout.headings[column][0] if plan else column
            if heading not in cells:
                raise UsageError(f"{file}: {column} of row {number} stands in no cell of its own: correct it there.")
            cells[heading] = parting.with_day(cells[heading] or "", days[number])
        standing = "file = ? AND intake_id IN (SELECT intake_id FROM standing)"
        editions = [entry.edition for entry in ledger.entries(desk.con, standing, (file,))]
        corrected(desk, editions, rows, file)
        return _taken_in(desk, tell)


def _doubtful(con: duckdb.DuckDBPyConnection, file: str, rows: Sequence[int]) -> list[tuple[int, str, int, str]]:
    """(number, row as JSON, intake, column) of rows of a file that are set aside for their day; none named: all."""
    asked = """
        SELECT DISTINCT s.row_number, s."row", s.intake_id, s."column" FROM set_aside AS s
        SEMI JOIN standing USING (intake_id) WHERE s.file = ? AND s.rule = ? ORDER BY ALL
    """
    waiting = con.execute(asked, [file, doubtful.RULE]).fetchall()
    chosen = [one for one in waiting if not rows or one[0] in rows]
    absent = sorted(set(rows) - {number for number, *_ in waiting})
    if absent or not chosen:
        what = f"row {absent[0]} is not" if absent else "no row is"
        raise UsageError(f"{file}: {what} set aside for its day; 'stillroom aside' lists what is set aside.")
    return chosen


def _taken_in(desk: Desk, tell: Callable[[Outcome], None]) -> list[Outcome]:
    """All files, after a decision: what refers to a row that counts by now may land, too."""
    outcomes = []
    for outcome in take_in_all(desk):
        tell(outcome)
        outcomes.append(outcome)
    return outcomes


@contextmanager
def _open(house: House, registry: Registry, progress: Progress = lambda name, done, about: None) -> Iterator[Desk]:
    """Where to decide; what was decided and not settled is forgotten.

    Raises:
        StoreError: as `opening.writing`; it says so where what was decided is kept all the same.
    """
    before = Decisions.load(house.folder).digest
    try:
        with opening.writing(house, registry.tables.values()) as con:
            decisions = Decisions.load(house.folder)
            try:
                yield Desk(con=con, house=house, registry=registry, decisions=decisions, progress=progress)
            finally:
                decisions.forget_unsaved()
    except StoreError as error:
        if Decisions.load(house.folder).digest == before:
            raise
        raise StoreError(f"{error} What was decided is kept, and counts as soon as the store can be written.") from None


def _settle(desk: Desk, what: str) -> None:
    """Let what was decided count, if it can be right."""
    with transaction(desk.con):
        in_force.refresh(desk.con, desk.house, desk.registry.tables, desk.decisions)
        landing.refuse_circles(desk.con, desk.registry.tables, what)
        desk.decisions.save()


def _read_anew(desk: Desk, entry: ledger.Entry) -> None:
    """Read a file with the corrections that are left of it, as no intake has read it yet."""
    plans = plans_of(desk, [entry.edition])
    if not plans:
        raise FileRefused(
            f"{entry.file} has changed since or is gone, and cannot be read as before: put it back first."
        )
    take_in_together(desk, plans)


def _entry(desk: Desk, which: str) -> ledger.Entry:
    """The intake of a number; of a file the one that counts of the edition that was taken in last."""
    if not which.isdecimal():
        found = ledger.entries(desk.con, "file = ?", (which,))
        if not found:
            raise UsageError(f"No file '{which}' was taken in; 'stillroom ledger' lists all files.")
        edition = max((one.edition for one in found), key=desk.decisions.lateness)
        readings = [one for one in found if one.edition == edition]
        return ledger.chosen(readings, desk.decisions.corrections_id(edition)) or found[-1]
    found = ledger.entries(desk.con, "intake_id = ?", (int(which),))
    if found:
        return found[0]
    newest = ledger.next_id(desk.con) - 1
    if not newest:
        raise UsageError(f"There is no intake {which}: nothing has been taken in yet.")
    raise UsageError(f"There is no intake {which}; the newest is {newest}. 'stillroom ledger' lists them.")


def _before(con: duckdb.DuckDBPyConnection, entry: ledger.Entry) -> str:
    """With which corrections the intake before it had read the same edition."""
    earlier = [one for one in ledger.readings(con, entry.edition) if one.intake_id < entry.intake_id]
    return earlier[-1].corrections if earlier else ""


def _undone(desk: Desk, which: str) -> Edition:
    """The edition of an intake's number or of a file's name that is undone."""
    undone = list(desk.decisions.undone)
    by_name = [edition for edition in undone if edition.file == which]
    edition = by_name[-1] if by_name else _entry(desk, which).edition
    if edition not in undone:
        raise UsageError(f"{edition.file} is not undone.")
    return edition
