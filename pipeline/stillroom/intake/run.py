"""One intake run: every file planned, read, checked and landed; a fault in one file stops that file alone."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Iterator
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Final, Literal

from stillroom.errors import FileRefused, PluginError, SettingsError, StillroomError
from stillroom.house import House, SourceSettings
from stillroom.intake import corrections, landing, planning, shaping
from stillroom.intake.casting import Clock
from stillroom.intake.checking import Checked, Wording, check
from stillroom.intake.corrections import Correction
from stillroom.intake.overlap import ahead
from stillroom.intake.rising import Rising
from stillroom.objects import TextBatch
from stillroom.registry import Registry
from stillroom.store import frames, ledger, opening, supersede
from stillroom.store.transaction import transaction
from stillroom_schemas.table import Table

if TYPE_CHECKING:
    import duckdb

    from stillroom.intake.planning import Candidate, Plan

Status = Literal["landed", "unchanged", "no rows yet", "refused"]
SPECS: Final = ("spec", "spec_line")
SAMPLE_BYTES: Final = 2**18


@dataclass(frozen=True, kw_only=True)
class Outcome:
    """What became of one file."""

    file: str
    status: Status
    source: str = ""
    table: str = ""
    intake_id: int | None = None
    rows_read: int = 0
    rows_landed: int = 0
    rows_set_aside: int = 0
    rows_corrected: int = 0
    """Of those set aside, rows for which corrections stand that were made of an earlier reading."""
    rows_passed_over: int = 0
    superseded: int = 0
    """Rows of earlier files that these replace."""
    kept_of_older: int = 0
    """Rows of earlier editions of this very file that stay in force: the new edition does not speak of their ground."""
    replaced_intake: int | None = None
    """The earlier intake of the same bytes that this one takes the place of, because it is read differently now."""
    unused: tuple[str, ...] = ()
    """Headings that fill no column."""
    problem: str = ""

    @property
    def rows_waiting(self) -> int:
        """Rows that are set aside and wait to be corrected."""
        return self.rows_set_aside - self.rows_corrected


Progress = Callable[[str, int, int], None]
"""Called with the file's name, the rows read so far, and about how many there will be."""


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
        planned: list[tuple[Candidate, Plan | Correction]] = []
        for candidate in candidates:
            try:
                planned.append((candidate, _plan(con, candidate, house, registry)))
            except (FileRefused, PluginError, SettingsError) as refusal:
                yield Outcome(file=candidate.name, status="refused", problem=str(refusal))
        order = list(registry.tables)
        for _, plan in sorted(planned, key=lambda pair: order.index(_inner(pair[1]).table.name)):
            try:
                yield take_in(con, house, registry, plan, progress)
            except (FileRefused, PluginError) as refusal:
                yield Outcome(file=_inner(plan).file.name, status="refused", problem=str(refusal))


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
    return _File(con, house, registry, plan, progress).take_in(number)


def batches(plan: Plan, correction: Correction | None = None) -> Iterator[TextBatch]:
    """The source's batches, shaped; whatever else its code raises is the plugin's fault, and is named so.

    Raises:
        FileRefused: the file cannot be read to its end.
        PluginError: the plugin fails.
    """
    try:
        for batch in plan.source.read(plan.file):
            _refuse_wrong_shape(batch, plan)
            yield shaping.shaped(
                corrections.waiting(batch, correction) if correction else batch, plan.layout, plan.settings
            )
    except StillroomError:
        raise
    except Exception as error:
        what = f"{type(error).__name__}: {' '.join(str(error).split())}"
        raise PluginError(f"{plan.file.name}: source plugin '{plan.source.name}' failed ({what}).") from error


def clock_of(settings: SourceSettings, house: House) -> Clock:
    """How dates and times of a source's files are read."""
    return Clock(date_format=settings.date_format, house_zone=house.time_zone, file_zone=settings.time_zone)


def _inner(plan: Plan | Correction) -> Plan:
    return plan.plan if isinstance(plan, Correction) else plan


def _plan(con: duckdb.DuckDBPyConnection, candidate: Candidate, house: House, registry: Registry) -> Plan | Correction:
    correction = corrections.plan(con, candidate, house, registry)
    return correction or planning.plan(candidate, registry)


class _File:
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
        self.plan = _inner(plan)
        self.table = self.plan.table
        self.schema = self.table.model.to_schema()
        self.rising = Rising(self.table)
        self.reading = _reading(self.plan.settings, house)

    def take_in(self, number: int | None) -> Outcome:
        """All of the file, or nothing of it."""
        sha256 = fingerprint(self.plan)
        standing = ledger.standing(self.con, self.plan.file.name, sha256)
        if standing is not None and standing.reading == self.reading and not self._waits_for_partner(standing):
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

    def _waits_for_partner(self, standing: ledger.Entry) -> bool:
        """Rows were set aside for want of a partner: it may be there by now."""
        row = frames.one_row(
            self.con,
            "SELECT 1 FROM set_aside WHERE intake_id = ? AND rule = 'reference' AND corrected_by IS NULL LIMIT 1",
            [standing.intake_id],
        )
        return row is not None

    def _gains_nothing(self, standing: ledger.Entry, outcome: Outcome) -> bool:
        return standing.reading == self.reading and standing.rows_landed == outcome.rows_landed

    def _land(self, intake_id: int, sha256: str, standing: ledger.Entry | None) -> Outcome:
        began = ledger.now()
        if standing is not None:
            self._retire(standing, intake_id)
        read, bad, passed = self._land_rows(intake_id)
        if read == passed:
            raise _NoRows
        corrects = self.correction.root if self.correction else None
        place = self.correction.place if self.correction else standing.place if standing else intake_id
        late = landing.set_aside_among_rows(
            self.con,
            self.table,
            intake_id,
            self.plan.file.name,
            corrects,
            self._batches,
            repeats=not self.rising.so_far,
        )
        if standing is not None and standing.table_name == self.table.name:
            late += corrections.carry(self.con, self.table, standing.intake_id, intake_id)
        entry = ledger.Entry(
            intake_id=intake_id,
            source=self.plan.settings.name,
            plugin=self.plan.source.name,
            table_name=self.table.name,
            file=self.plan.file.name,
            sha256=sha256,
            reading=self.reading,
            corrects=corrects,
            place=place,
            rows_read=read,
            rows_landed=self._count_landed(intake_id),
            rows_set_aside=bad + late,
            rows_passed_over=passed,
            began_at=began,
            ended_at=ledger.now(),
        )
        self._refuse_unless_closed(entry)
        ledger.write(self.con, entry)
        superseded = supersede.mark(self.con, self.table, intake_id)
        if self.correction:
            self._close_corrected(intake_id)
        if place != intake_id:
            supersede.mark_again(self.con, self.table, intake_id)
        if self.table.name in SPECS:
            landing.refuse_circles(self.con, self.plan.file.name)
        landing.stale(self.con)
        return self._outcome(
            "landed",
            intake_id=intake_id,
            rows_read=read,
            rows_landed=entry.rows_landed,
            rows_set_aside=entry.rows_set_aside,
            rows_corrected=self._count_corrected(intake_id),
            rows_passed_over=passed,
            superseded=superseded,
            kept_of_older=self._kept_of_older(intake_id),
            replaced_intake=standing.intake_id if standing else None,
            unused=() if self.plan.settings.wide else self.plan.layout.unused,
        )

    def _retire(self, standing: ledger.Entry, intake_id: int) -> None:
        """Take the earlier reading of the same bytes out of force; corrections of its rows go over to the new one."""
        if standing.table_name == self.table.name:
            ledger.replace(self.con, self.registry.tables, standing, intake_id)
        else:
            ledger.undo(self.con, self.registry.tables, standing.intake_id)

    def _land_rows(self, intake_id: int) -> tuple[int, int, int]:
        wording = Wording(
            table=self.table,
            layout=self.plan.layout,
            settings=self.plan.settings,
            fills=_fills(self.table, self.schema, self.house),
            clock=clock_of(self.plan.settings, self.house),
        )
        read = bad = passed = 0
        about = _about_rows(self.plan)
        # Reading and checking work ahead, each in a thread; the store is only touched here.
        for checked in ahead(self._checked(wording)):
            landing.land_batch(self.con, self.table, intake_id, self.plan.file.name, checked)
            read, bad, passed = read + checked.rows_read, bad + checked.rows_bad, passed + checked.passed_over
            self.progress(self.plan.file.name, read, about)
        return read, bad, passed

    def _checked(self, wording: Wording) -> Iterator[Checked]:
        for batch in ahead(self._batches()):
            checked = check(batch, wording, self.schema)
            self.rising.see(checked.good)
            yield checked

    def _batches(self) -> Iterator[TextBatch]:
        return batches(self.plan, self.correction)

    def _count_landed(self, intake_id: int) -> int:
        row = frames.one_row(self.con, f'SELECT count(*) FROM "{self.table.name}" WHERE intake_id = ?', [intake_id])
        return int(row[0]) if row else 0

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
        batches = (corrections.waiting(batch, self.correction) for batch in self.plan.source.read(self.plan.file))
        rows = [number for batch in batches for number in corrections.corrected_rows(batch)]
        self.con.execute(
            "UPDATE set_aside SET corrected_by = ? WHERE intake_id = ? AND row_number IN (SELECT unnest(?))",
            [intake_id, self.correction.intake_id, rows],
        )

    def _kept_of_older(self, intake_id: int) -> int:
        row = frames.one_row(
            self.con,
            f'SELECT count(*) FROM "{self.table.name}" WHERE superseded_by IS NULL AND file = ? AND intake_id < ?',
            [self.plan.file.name, intake_id],
        )
        return int(row[0]) if row else 0

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


def _fills(table: Table, schema: object, house: House) -> dict[str, object]:
    """What an empty cell means, column by column; an empty venue means the only venue there is."""
    columns = schema.columns  # type: ignore[attr-defined]
    fills = {n: c.metadata["default"] for n, c in columns.items() if (c.metadata or {}).get("default") is not None}
    if table.name in ("sale", "batch") and house.only_venue is not None:
        fills["venue"] = house.only_venue
    return fills


def _refuse_wrong_shape(batch: object, plan: Plan) -> None:
    import polars as pl

    who = f"{plan.file.name}: source plugin '{plan.source.name}'"
    if not isinstance(batch, TextBatch):
        raise PluginError(f"{who} must yield TextBatch objects, not {type(batch).__name__}.")
    wrong = [name for name, dtype in batch.rows.schema.items() if dtype != pl.String]
    if wrong:
        raise PluginError(f"{who} yields column '{wrong[0]}' as {batch.rows.schema[wrong[0]]}; all cells must be text.")
    wide = plan.settings.wide
    turned = (wide.headings_are, wide.cells_are) if wide else ()
    wanted = [h for column, several in plan.layout.headings.items() if column not in turned for h in several]
    absent = [heading for heading in wanted if heading not in batch.rows.columns]
    if absent:
        raise PluginError(f"{who} promised a heading '{absent[0]}' that its rows do not have.")
    if len(batch.row_numbers) != batch.rows.height:
        raise PluginError(f"{who} yields {batch.rows.height} rows with {len(batch.row_numbers)} row numbers.")


def _reading(settings: SourceSettings, house: House) -> str:
    """A short text that changes when a file would be read in another way."""
    facts = {**asdict(settings), "files": None, "house_time_zone": house.time_zone, "venue": house.only_venue}
    return hashlib.sha256(json.dumps(facts, sort_keys=True).encode()).hexdigest()[:16]


def fingerprint(plan: Plan) -> str:
    """What tells one content from another: of a file its bytes, of a query its rows."""
    if plan.file.query is not None:
        digest = hashlib.sha256()
        for batch in plan.source.read(plan.file):
            digest.update(batch.rows.write_csv(include_header=False, quote_style="always").encode())
            digest.update(repr(batch.malformed).encode())
        return digest.hexdigest()
    try:
        with plan.file.path.open("rb") as stream:
            return hashlib.file_digest(stream, "sha256").hexdigest()
    except OSError as error:
        raise FileRefused(f"{plan.file.name}: cannot be read ({error.strerror}).") from None


def _about_rows(plan: Plan) -> int:
    """How many rows a file of text holds, judged by its beginning; 0 where that cannot be told."""
    if plan.file.query is not None:
        return 0
    with plan.file.path.open("rb") as stream:
        start = stream.read(SAMPLE_BYTES)
    if b"\0" in start:
        return 0
    lines = max(start.count(b"\n"), 1)
    return round(plan.file.path.stat().st_size * lines / max(len(start), 1))


__all__ = ["Outcome", "batches", "clock_of", "run", "take_in"]
