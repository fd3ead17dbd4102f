"""Taking in one planned file: all of it or nothing, in one transaction, with the ledger line that accounts for it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import datetime
from typing import TYPE_CHECKING, Final

import polars as pl

from stillroom.errors import FileRefused
from stillroom.house.house import House
from stillroom.intake import corrections, how_read, landing, repeats, source_rows
from stillroom.intake.checking import ROW_NUMBER, Checked, check, texts_of
from stillroom.intake.corrections import Correction
from stillroom.intake.outcome import Outcome, Progress, Status
from stillroom.intake.overlap import Ahead
from stillroom.intake.rising import Rising
from stillroom.objects import TextBatch
from stillroom.plugins.registry import Registry
from stillroom.store import frames, ledger, supersede
from stillroom.store.transaction import transaction

if TYPE_CHECKING:
    import duckdb

    from stillroom.intake.planning import Plan

SPECS: Final = ("spec", "spec_line")
LARGE_BYTES: Final = 2**25
"""A larger file is read and checked while it is hashed; a smaller one only once it has proved to be new."""


def take_in(
    con: duckdb.DuckDBPyConnection,
    house: House,
    registry: Registry,
    plan: Plan | Correction,
    progress: Progress,
    *,
    number: int | None = None,
) -> Outcome:
    """Take in one planned file: all of it, or nothing of it.

    Args:
        number: its number in the ledger; the next one where none is given.

    Raises:
        FileRefused: the file cannot be read to its end, or as a whole cannot be right.
        PluginError: its source's plugin fails.
    """
    return _Intake(con, house, registry, plan, progress).take_in(number)


class _Intake:
    """Taking in one planned file."""

    def __init__(
        self,
        con: duckdb.DuckDBPyConnection,
        house: House,
        registry: Registry,
        plan: Plan | Correction,
        progress: Progress,
    ) -> None:
        self.con, self.house, self.registry, self.progress = con, house, registry, progress
        self.correction = plan if isinstance(plan, Correction) else None
        self.plan = plan.plan if isinstance(plan, Correction) else plan
        self.table = self.plan.table
        self.schema = self.table.schema()
        self.rising = Rising(self.table, a_line_a_row=self.plan.settings.wide is None and not self.plan.settings.book)
        self.reading = how_read.in_short(self.plan, house)
        # Reading and checking work ahead, each in a thread; the store is only touched here.
        self.checked = Ahead(self._checked())

    def take_in(self, number: int | None) -> Outcome:
        """All of the file, or nothing of it."""
        with self.checked:
            if source_rows.size(self.plan) > LARGE_BYTES:
                self.checked.begin()
            return self._take_in(number)

    def _take_in(self, number: int | None) -> Outcome:
        sha256 = source_rows.fingerprint(self.plan)
        standing = ledger.standing(self.con, self.plan.file.name, sha256)
        if standing is not None and standing.reading == self.reading and not self._partners_changed(standing):
            return self._unchanged(standing)
        try:
            with transaction(self.con):
                outcome = self._land(number or ledger.next_id(self.con), sha256, standing)
                if standing is not None and self._gains_nothing(standing, outcome):
                    raise _NothingGained
        except _NothingGained:
            assert standing is not None
            return self._unchanged(standing)
        except _NoRows:
            if self.correction:
                return self._outcome("unchanged", problem="holds no row that waits and was corrected; nothing changed")
            return self._outcome("no rows yet", problem="holds headings and no rows yet")
        return outcome

    def _unchanged(self, standing: ledger.Entry) -> Outcome:
        problem = f"taken in before as intake {standing.intake_id}; nothing changed"
        return self._outcome("unchanged", intake_id=standing.intake_id, problem=problem)

    def _partners_changed(self, standing: ledger.Entry) -> bool:
        """Rows were set aside for want of a partner, which may be there by now; or the partner of some is gone."""
        if landing.without_partner(self.con, self.table, standing.intake_id).height:
            return True
        row = frames.one_row(
            self.con,
            "SELECT 1 FROM set_aside WHERE intake_id = ? AND rule = 'reference' AND corrected_by IS NULL LIMIT 1",
            [standing.intake_id],
        )
        return row is not None

    def _gains_nothing(self, standing: ledger.Entry, outcome: Outcome) -> bool:
        rows = f'SELECT row_number FROM "{self.table.name}" WHERE intake_id = ?'
        other = frames.one_row(self.con, f"{rows} EXCEPT {rows}", [outcome.intake_id, standing.intake_id])
        same = other is None and standing.rows_landed == outcome.rows_landed
        return standing.reading == self.reading and same

    def _land(self, intake_id: int, sha256: str, standing: ledger.Entry | None) -> Outcome:
        began = ledger.now()
        if standing is not None:
            self._retire(standing, intake_id)
        entry = self._landed(intake_id, sha256, standing, began)
        self._refuse_unless_closed(entry)
        ledger.write(self.con, entry)
        superseded = supersede.mark(self.con, self.table, intake_id)
        if self.correction:
            self._close_corrected(intake_id)
        if entry.place != intake_id:
            supersede.mark_again(self.con, self.table, intake_id)
        if self.table.name in SPECS:
            landing.refuse_circles(self.con, self.plan.file.name)
        landing.stale(self.con)
        return self._outcome(
            "landed",
            intake_id=intake_id,
            rows_read=entry.rows_read,
            rows_landed=entry.rows_landed,
            rows_set_aside=entry.rows_set_aside,
            rows_corrected=self._count_corrected(intake_id),
            rows_passed_over=entry.rows_passed_over,
            superseded=superseded,
            kept_of_older=self._kept_of_older(intake_id),
            replaced_intake=standing.intake_id if standing else None,
            unused=() if self.plan.settings.wide else self.plan.layout.unused,
        )

    def _landed(self, intake_id: int, sha256: str, standing: ledger.Entry | None, began: datetime) -> ledger.Entry:
        """Land the rows, and set aside what does not fit among the others; the ledger's line of it."""
        read, bad, passed = self._land_rows(intake_id)
        if read == passed:
            raise _NoRows
        name, corrects = self.plan.file.name, self.correction.root if self.correction else None
        completes = corrects or (intake_id if standing is not None and self._has_corrections(intake_id) else None)
        bad += landing.set_aside_among_rows(
            self.con, self.table, intake_id, name, completes, self._batches, may_repeat=not self.rising.so_far
        )
        if standing is not None and standing.table_name == self.table.name:
            bad += corrections.carry(self.con, self.table, standing.intake_id, intake_id)
        earlier = self.correction or standing
        return ledger.Entry(
            intake_id=intake_id,
            source=self.plan.settings.name,
            plugin=self.plan.source.name,
            table_name=self.table.name,
            file=name,
            sha256=sha256,
            reading=self.reading,
            corrects=corrects,
            place=earlier.place if earlier else intake_id,
            rows_read=read,
            rows_landed=self._count_landed(intake_id),
            rows_set_aside=bad,
            rows_passed_over=passed,
            began_at=began,
            ended_at=ledger.now(),
        )

    def _has_corrections(self, intake_id: int) -> bool:
        return bool(ledger.entries(self.con, "corrects = ? AND undone_at IS NULL", (intake_id,)))

    def _retire(self, standing: ledger.Entry, intake_id: int) -> None:
        """Take the earlier reading of the same bytes out of force; corrections of its rows go over to the new one."""
        if standing.table_name == self.table.name:
            ledger.replace(self.con, self.registry.tables, standing, intake_id)
        else:
            ledger.undo(self.con, self.registry.tables, standing.intake_id)

    def _land_rows(self, intake_id: int) -> tuple[int, int, int]:
        read = bad = passed = 0
        about = source_rows.about_how_many(self.plan)
        waiting = []
        for checked, late in self.checked:
            landing.land_batch(self.con, self.table, intake_id, self.plan.file.name, checked)
            read, bad, passed = read + checked.rows_read, bad + checked.rows_bad, passed + checked.passed_over
            if late.height:
                waiting.append(late)
            self.progress(self.plan.file.name, read, about)
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
        wording = how_read.wording(self.plan, self.house)
        with Ahead(self._batches()) as batches:
            for batch in batches:
                yield self._parted(check(batch, wording, self.schema), batch)

    def _parted(self, checked: Checked, batch: TextBatch) -> tuple[Checked, pl.DataFrame]:
        """A batch without the rows that wait till all others have landed; and those, with their text in `row`."""
        late = self.rising.fallen(checked.good)
        waiting = checked.good.filter(late)
        if waiting.is_empty():
            return checked, waiting
        texts = texts_of(batch, waiting[ROW_NUMBER])
        return replace(checked, good=checked.good.filter(~late)), waiting.join(texts, on=ROW_NUMBER, how="left")

    def _batches(self) -> Iterator[TextBatch]:
        return source_rows.batches(self.plan, self.correction)

    def _count_landed(self, intake_id: int) -> int:
        query = f'SELECT count(*) FROM "{self.table.name}" WHERE intake_id = ?'
        return int(frames.one_value(self.con, query, [intake_id]))

    def _count_corrected(self, intake_id: int) -> int:
        query = "SELECT count(DISTINCT row_number) FROM set_aside WHERE intake_id = ? AND corrected_by IS NOT NULL"
        return int(frames.one_value(self.con, query, [intake_id]))

    def _refuse_unless_closed(self, entry: ledger.Entry) -> None:
        if entry.rows_read != entry.rows_landed + entry.rows_set_aside + entry.rows_passed_over:
            raise FileRefused(
                f"{entry.file}: {entry.rows_read} rows read, but {entry.rows_landed} landed + {entry.rows_set_aside} "
                f"set aside + {entry.rows_passed_over} passed over: nothing was taken in. This is a fault in Stillroom."
            )

    def _close_corrected(self, intake_id: int) -> None:
        assert self.correction is not None
        batches = (corrections.waiting(batch, self.correction) for batch in self.plan.source.batches_of(self.plan.file))
        rows = [number for batch in batches for number in corrections.corrected_rows(batch)]
        self.con.execute(
            "UPDATE set_aside SET corrected_by = ? WHERE intake_id = ? AND row_number IN (SELECT unnest(?))",
            [intake_id, self.correction.intake_id, rows],
        )

    def _kept_of_older(self, intake_id: int) -> int:
        query = f'SELECT count(*) FROM "{self.table.name}" WHERE superseded_by IS NULL AND file = ? AND intake_id < ?'
        return int(frames.one_value(self.con, query, [self.plan.file.name, intake_id]))

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
