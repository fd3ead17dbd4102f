"""Taking in one file: all of it or nothing, in one transaction, with a ledger line for each table that it fills."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime
from pathlib import PurePath
from typing import TYPE_CHECKING, Any, Final

import polars as pl

from stillroom import WRITTEN_ON
from stillroom.errors import FileRefused
from stillroom.house.decisions import Cells, Decisions, Edition
from stillroom.house.house import House
from stillroom.intake import doubtful, how_read, labels, landing, looked_for, makings, repeats, source_rows
from stillroom.intake.checking import ROW_NUMBER, Checked, check, texts_of
from stillroom.intake.outcome import Outcome, Progress, Status
from stillroom.intake.overlap import Ahead
from stillroom.intake.planning import Plan, reads_beside
from stillroom.intake.rising import Rising
from stillroom.naming import without_sheet
from stillroom.objects import TextBatch
from stillroom.plugins.registry import Registry
from stillroom.store import editions, frames, in_force, ledger
from stillroom.store.transaction import transaction

if TYPE_CHECKING:
    import duckdb

LARGE_BYTES: Final = 2**25
"""A larger file is read and checked while it is hashed; a smaller one only once it has proved to be new."""


@dataclass(frozen=True, kw_only=True)
class Desk:
    """Where files are taken in: the store, the house with its decisions, and what is known of its files."""

    con: duckdb.DuckDBPyConnection
    house: House
    registry: Registry
    decisions: Decisions
    progress: Progress
    there: frozenset[tuple[str, str]] = field(default_factory=frozenset)
    """(source, file) of all files there are to take in: of another one, a file of the same content is the new name."""
    named: bool = False
    """The user has named the files to take in."""
    alone: bool = False
    """The store holds nothing else: partners in other tables are not asked for."""


def take_in(desk: Desk, plan: Plan) -> Outcome:
    """Take in a file that fills one table. As `take_in_together`."""
    return take_in_together(desk, [plan])[0]


def take_in_together(
    desk: Desk, plans: Sequence[Plan], *, by_hand: bool = False, corrected: Mapping[int, Cells] | None = None
) -> list[Outcome]:
    """Take in what one file says of one table or of several: all of it, or nothing of it.

    Args:
        plans: the table that others refer to first.
        by_hand: it is named by the user alone; from now on it is one of the house's files.
        corrected: rows of the file by their numbers, as they were corrected by hand just now.

    Raises:
        FileRefused: the file cannot be read to its end, or as a whole cannot be right.
        PluginError: its source's plugin fails.
    """
    idle: set[int] = set()
    empty: dict[int, Outcome] = {}
    while True:
        outcomes: list[Outcome] = []
        before = source_rows.stamp(plans[0])
        try:
            with transaction(desk.con):
                for place, plan in enumerate(plans):
                    one = _Intake(desk, plan, by_hand=by_hand, now_corrected=corrected or {})
                    outcomes.append(empty.get(place) or one.take_in(idle=place in idle))
                if any(one.status == "landed" for one in outcomes) and source_rows.stamp(plans[0]) != before:
                    raise FileRefused(
                        f"{plans[0].file.name}: has changed while it was read, and nothing of it was taken in: take it "
                        "in once it is whole."
                    )
                desk.decisions.save()
            return outcomes
        except _NothingGained:
            idle.add(len(outcomes))
        except _NoRows as none:
            empty[len(outcomes)] = none.outcome
        finally:
            desk.decisions.forget_unsaved()


class _Intake:
    """Taking in one planned file, inside a transaction; decisions are noted and not yet saved."""

    def __init__(self, desk: Desk, plan: Plan, *, by_hand: bool, now_corrected: Mapping[int, Cells]) -> None:
        self.by_hand, self.now_corrected = by_hand, now_corrected
        self.desk, self.plan, self.con, self.decisions = desk, plan, desk.con, desk.decisions
        self.tables = {**desk.registry.tables, plan.table.name: plan.table}
        self.table = plan.table
        self.schema = self.table.schema()
        self.rising = Rising(self.table, a_line_a_row=plan.settings.wide is None and not plan.settings.book)
        self.reading = how_read.in_short(plan, desk.house)
        self.corrected: Mapping[int, Cells] = {}
        # Reading and checking work ahead, each in a thread; the store is only touched here.
        self.checked = Ahead(self._checked())

    def take_in(self, *, idle: bool) -> Outcome:
        """All of what it says of its table; `idle`: it has shown that nothing would change.

        Raises:
            _NothingGained, _NoRows: what was done has to be rolled back.
        """
        with self.checked:
            if source_rows.size(self.plan) > LARGE_BYTES and not self.decisions.any_corrections:
                self.checked.begin()
            edition = Edition(self.plan.settings.name, self.plan.file.name, source_rows.fingerprint(self.plan))
            known, was = self.decisions.place(edition) is not None, ""
            if edition not in self.decisions.undone:
                if self.by_hand:
                    self._note_by_hand()
                was = self._note(edition)
            if edition in self.decisions.undone:  # by now perhaps under another name
                day = self.decisions.undone[edition]
                return self._outcome("undone", problem=f"was undone on {day}: 'stillroom redo' brings it back", was=was)
            if self.now_corrected:
                self.decisions.add("corrected", edition, rows=dict(sorted(self.now_corrected.items())))
            self.corrected = self.decisions.corrections(edition)
            # Nothing stands in the ledger that no decision knows of.
            readings = ledger.readings(self.con, edition) if known else []
            return replace(self._taken_in(edition, readings, idle=idle), was=was)

    def _note_by_hand(self) -> None:
        source, plugin = self.plan.settings.name, self.plan.source.name
        file = without_sheet(self.plan.file.name, self.plan.file.sheet)
        if self.decisions.by_hand.get(file) != (source, plugin):
            self.decisions.add("by hand", source=source, plugin=plugin, file=file)

    def _note(self, edition: Edition) -> str:
        """Give the edition its place in the order of files; what it was called before, if otherwise."""
        if self.decisions.is_newest(edition):
            return ""
        before = self.decisions.latest.get(edition[:2])
        day = self.desk.house.today().isoformat()
        is_new = before is None or not self.decisions.stands(before)  # perhaps it has its old name again
        same = [one for one in self.decisions.elsewhere(edition) if self._is_now(one, edition, is_new=is_new)]
        if same:
            was = max(reversed(same), key=self.decisions.stands)
            self.decisions.add("renamed", edition, day=day, reading=self.reading, was_source=was.source, was=was.file)
            return was.file if was.file != edition.file else f"{was.file} of source {was.source}"
        given_up = [one for one in self.decisions.read_by_others(edition[:2]) if not self._is_read_by(one.source)]
        by = {"was_source": given_up[-1].source} if given_up else {}
        self.decisions.add("taken", edition, day=day, reading=self.reading, **by)
        return ""

    def _is_now(self, one: Edition, edition: Edition, *, is_new: bool) -> bool:
        """Whether a file of the same content is this very file, under another name or as another source reads it."""
        if one.file == edition.file:
            return not self._is_read_by(one.source)
        others = {source.name for source in self.desk.house.sources} - {edition.source}
        same_name = PurePath(one.file).name == PurePath(edition.file).name  # moved to another source's folder
        return is_new and one[:2] not in self.desk.there and (same_name or one.source not in others)

    def _is_read_by(self, source: str) -> bool:
        """Whether another source reads this file, too: into a table of its own."""
        if (source, self.plan.file.name) not in self.desk.there:
            return False
        settings = self.plan.settings
        return any(reads_beside(one, settings) for one in self.desk.house.sources if one.name == source)

    def _taken_in(self, edition: Edition, readings: Sequence[ledger.Entry], *, idle: bool) -> Outcome:
        standing = ledger.chosen(readings, self.decisions.corrections_id(edition))
        alike = standing is not None and self._is_read_alike(standing)
        if standing is not None and alike and (idle or not self._partners_changed(standing)):
            if idle:
                looked_for.note(self.con, self.tables, self.table, standing.intake_id)
            return self._unchanged(standing)
        outcome = self._land(edition, standing)
        if standing is not None and self._gains_nothing(standing, outcome):
            raise _NothingGained
        return outcome

    def _is_read_alike(self, standing: ledger.Entry) -> bool:
        now = (self.reading, self.decisions.corrections_id(standing.edition), self.table.name)
        return (standing.reading, standing.corrections, standing.table_name) == now

    def _unchanged(self, standing: ledger.Entry) -> Outcome:
        """It is in the store as it is read now; it may be that it counts again, or under another place."""
        # What counts was up to date before this file: only what was decided of it here may have changed that.
        outcome = self._outcome("unchanged", intake_id=standing.intake_id)
        if not self.decisions.unsaved:
            return outcome
        counts = frames.one_row(self.con, "SELECT 1 FROM standing WHERE intake_id = ?", [standing.intake_id])
        before = editions.before(self.con, self.tables, self.table, standing.edition)
        if not in_force.refresh(self.con, self.desk.house, self.tables, self.decisions):
            return outcome
        self._refuse_circles()
        what = "counts again" if counts is None else "is the newest edition again"
        problem = f"taken in before as intake {standing.intake_id}; it {what}"
        return replace(outcome, problem=problem, **self._changed(standing, before))

    def _partners_changed(self, standing: ledger.Entry) -> bool:
        """Rows were set aside for want of a partner, or of a word, which may be there by now; or a partner is gone."""
        waits = standing.rows_set_aside > 0
        confirmed = self.decisions.confirmed(standing.edition)
        if waits and landing.confirmed_since(self.con, standing.intake_id, confirmed):
            return True
        if landing.without_partner(self.con, self.tables, self.table, standing.intake_id).height:
            return True
        if any(one.have_changed(self.con, self.tables, self.table, standing.intake_id) for one in (labels, makings)):
            return True
        return waits and looked_for.others_are_there(self.con, self.tables, self.table, standing.intake_id)

    def _gains_nothing(self, standing: ledger.Entry, outcome: Outcome) -> bool:
        columns = ", ".join(f'"{name}"' for name in self.schema.columns)
        rows = f'SELECT row_number, {columns} FROM "{self.table.name}" WHERE intake_id = ?'
        other = frames.one_row(self.con, f"{rows} EXCEPT {rows}", [outcome.intake_id, standing.intake_id])
        return self._is_read_alike(standing) and other is None and standing.rows_landed == outcome.rows_landed

    def _land(self, edition: Edition, standing: ledger.Entry | None) -> Outcome:
        last = in_force.comes_last(self.con, edition, self.decisions)
        before = editions.NOTHING_BEFORE if last else editions.before(self.con, self.tables, self.table, edition)
        entry = self._landed(edition, ledger.now(), empties=before.edition_before is not None and self._is_kept())
        self._refuse_unless_closed(entry)
        ledger.write(self.con, entry)
        if last:
            covered = in_force.put_last(self.con, self.table, self.tables, entry, self.decisions)
            change: dict[str, Any] = {"superseded": covered}
        else:
            in_force.refresh(self.con, self.desk.house, self.tables, self.decisions)
            change = self._changed(entry, before)
        self._refuse_circles()
        if entry.rows_set_aside:
            looked_for.note(self.con, self.tables, self.table, entry.intake_id)
        return self._outcome(
            "landed",
            intake_id=entry.intake_id,
            rows_read=entry.rows_read,
            rows_landed=entry.rows_landed,
            rows_set_aside=entry.rows_set_aside,
            rows_corrected=len(self.corrected),
            rows_passed_over=entry.rows_passed_over,
            **change,
            doubtful=doubtful.told(self.con, entry.intake_id) if entry.rows_set_aside else (),
            replaced_intake=standing.intake_id if standing else None,
            unused=() if self.plan.settings.wide else self._unused(),
        )

    def _changed(self, entry: ledger.Entry, before: editions.Before) -> dict[str, Any]:
        """What its counting changed for others, as an outcome tells it."""
        return vars(editions.change(self.con, self.tables, self.table, entry, before, kept=self._is_kept()))

    def _unused(self) -> tuple[str, ...]:
        source = self.plan.source
        used = source.used_with_those if source.beside_of(self.plan.file.path) else ()
        return tuple(heading for heading in self.plan.layout.unused if heading not in used)

    def _is_kept(self) -> bool:
        return in_force.kept_by(self.desk.house, self.tables)(self.plan.settings.name, self.table.name)

    def _landed(self, edition: Edition, began: datetime, *, empties: bool) -> ledger.Entry:
        """Land the rows, and set aside what does not fit among the others; the ledger's line of it.

        `empties`: a file without rows tells that there are none any more.
        """
        intake_id, name = ledger.next_id(self.con), self.plan.file.name
        read, bad, passed = self._land_rows(intake_id)
        if read == passed and not empties:
            raise _NoRows(self._outcome("no rows yet", problem="holds headings and no rows yet"))
        bad += landing.set_aside_among_rows(
            self.con,
            self.tables,
            self.table,
            intake_id,
            name,
            self._lines,
            may_repeat=not self.rising.so_far,
            taken_on=max(self.decisions.first_days[edition], WRITTEN_ON),
            confirmed=self.decisions.confirmed(edition),
            alone=self.desk.alone,
        )
        return ledger.Entry(
            intake_id=intake_id,
            source=edition.source,
            plugin=self.plan.source.name,
            table_name=self.table.name,
            file=edition.file,
            sha256=edition.content,
            reading=self.reading,
            corrections=self.decisions.corrections_id(edition),
            rows_read=read,
            rows_landed=self._count_landed(intake_id),
            rows_set_aside=bad,
            rows_passed_over=passed,
            began_at=began,
            ended_at=ledger.now(),
        )

    def _land_rows(self, intake_id: int) -> tuple[int, int, int]:
        read = bad = passed = 0
        about = source_rows.about_how_many(self.plan)
        waiting = []
        for checked, late in self.checked:
            landing.land_batch(self.con, self.table, intake_id, self.plan.file.name, checked)
            read, bad, passed = read + checked.rows_read, bad + checked.rows_bad, passed + checked.passed_over
            if late.height:
                waiting.append(late)
            self.desk.progress(self.plan.file.name, read, about)
        if waiting:
            bad += self._land_waiting(intake_id, pl.concat(waiting))
        return read, bad, passed

    def _land_waiting(self, intake_id: int, rows: pl.DataFrame) -> int:
        """Land the rows that waited, but for those whose key stands in the file already; how many those are."""
        name = self.plan.file.name
        if not self.rising.so_far:  # all rows are searched for repeats, these too, once they have landed
            frames.insert(self.con, self.table.name, rows.drop("row"), intake_id=intake_id, file=name)
            return 0
        repeated = repeats.among_waiting(self.con, self.table, intake_id, rows)
        frames.insert(self.con, "set_aside", repeated, intake_id=intake_id, file=name)
        others = rows.drop("row").join(repeated, on=ROW_NUMBER, how="anti")
        frames.insert(self.con, self.table.name, others, intake_id=intake_id, file=name)
        return repeated.height

    def _checked(self) -> Iterator[tuple[Checked, pl.DataFrame]]:
        wording = how_read.wording(self.plan, self.desk.house)
        with Ahead(source_rows.batches(self.plan, self.corrected)) as batches:
            for batch, lines in batches:
                yield self._parted(check(batch, wording, self.schema, lines), batch)

    def _parted(self, checked: Checked, batch: TextBatch) -> tuple[Checked, pl.DataFrame]:
        """A batch without the rows that wait till all others have landed; and those, with their text in `row`."""
        if self.plan.settings.wide is not None or self.plan.settings.book:  # several rows stand in a line
            number = pl.int_range(1, pl.len() + 1, dtype=pl.Int16).over(ROW_NUMBER).alias("cell_number")
            checked = replace(checked, good=checked.good.with_columns(number))
        late = self.rising.fallen(checked.good)
        waiting = checked.good.filter(late)
        if waiting.is_empty():
            return checked, waiting
        texts = texts_of(batch, waiting[ROW_NUMBER])
        return replace(checked, good=checked.good.filter(~late)), waiting.join(texts, on=ROW_NUMBER, how="left")

    def _lines(self) -> Iterator[TextBatch]:
        return (lines for _, lines in source_rows.batches(self.plan, self.corrected))

    def _count_landed(self, intake_id: int) -> int:
        query = f'SELECT count(*) FROM "{self.table.name}" WHERE intake_id = ?'
        return int(frames.one_value(self.con, query, [intake_id]))

    def _refuse_unless_closed(self, entry: ledger.Entry) -> None:
        if entry.rows_read != entry.rows_landed + entry.rows_set_aside + entry.rows_passed_over:
            raise FileRefused(
                f"{entry.file}: {entry.rows_read} rows read, but {entry.rows_landed} landed + {entry.rows_set_aside} "
                f"set aside + {entry.rows_passed_over} passed over: nothing was taken in. This is a fault in Stillroom."
            )

    def _refuse_circles(self) -> None:
        if self.table.name in landing.SPECS:
            landing.refuse_circles(self.con, self.tables, self.plan.file.name)

    def _outcome(self, status: Status, **facts: object) -> Outcome:
        return Outcome(
            file=self.plan.file.name,
            status=status,
            source=self.plan.settings.name,
            table=self.table.name,
            **facts,  # type: ignore[arg-type]
        )


class _NothingGained(Exception):
    """Taking the file in again would leave the store as it is: roll back."""


class _NoRows(Exception):
    """A file of headings alone, such as an unused template: nothing to enter in the ledger."""

    def __init__(self, outcome: Outcome) -> None:
        self.outcome = outcome
