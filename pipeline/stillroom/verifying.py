"""Whether the store still says what the files say: the ledger added up, the files compared, the store built once more.

Nothing is changed: the second store stands in a folder of its own outside the house, and is thrown away.
"""

from __future__ import annotations

import shutil
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from stillroom import model
from stillroom.errors import FileRefused, PluginError, SettingsError
from stillroom.files import scratch_folder
from stillroom.house.decisions import DECISIONS_NAME, Decisions, Edition, Name
from stillroom.house.house import House
from stillroom.intake import file_intake, planning, source_rows
from stillroom.intake.file_intake import Desk
from stillroom.intake.outcome import Progress
from stillroom.intake.planning import Plan
from stillroom.intake.run import jobs_of
from stillroom.naming import for_a_shell, typed
from stillroom.plugins.registry import Registry
from stillroom.store import frames, in_force, layout, ledger, opening
from stillroom_schemas.table import Table

if TYPE_CHECKING:
    import duckdb

ROWS: Final = "*"
SET_ASIDE: Final = tuple(f'"{column}"' for column in ("file", "row_number", "column", "problem", "value", "row"))
SHOWN: Final = 3
"""Differences of a table or view that are counted out; the rest are only counted."""


@dataclass(frozen=True, kw_only=True)
class Verdict:
    """What was compared, and every difference in a sentence."""

    files: int
    """Files and queries that stand in the ledger."""
    rows: int
    """Rows that landed from them."""
    figures: int
    """Tables and views that were compared with those of the second store."""
    differences: tuple[str, ...]

    @property
    def agrees(self) -> bool:
        """No figure differs."""
        return not self.differences


def verify(house: House, registry: Registry, progress: Progress) -> Verdict:
    """Compare the ledger with the rows, the files with their fingerprints, and the store with one made anew.

    Raises:
        StoreError: there is no store, or it cannot be read.
    """
    # One connection from beginning to end: it has the store as it is now, whatever an intake puts in its place.
    with opening.reading(house, registry.tables.values()) as kept, scratch_folder() as folder:
        lines = in_force.lines(kept, house, registry.tables)
        decisions = Decisions.load(house.folder)
        standing = [line.entry for line in lines if line.state == "in force"]
        lost = _overwritten(standing, decisions)
        rows = in_force.counts(kept, registry.tables)
        differences = [*_ledger_faults(kept, standing, registry), *_lost_editions(lost, rows)]
        second = house.model_copy(update={"folder": folder})
        if (house.folder / DECISIONS_NAME).exists():
            shutil.copy(house.folder / DECISIONS_NAME, folder)
        changed = [*_built(house, second, registry, [one for one in standing if one not in lost], progress)]
        compared = () if changed else _compared(kept, second, registry)
        differences += [*changed, *(difference for _, found in compared for difference in found)]
    return Verdict(
        files=len(standing),
        rows=sum(entry.rows_landed for entry in standing),
        figures=len(compared),
        differences=tuple(differences),
    )


def _ledger_faults(con: duckdb.DuckDBPyConnection, standing: list[ledger.Entry], registry: Registry) -> Iterator[str]:
    """Lines of the ledger that the store's rows do not bear out."""
    for entry in standing:
        who = f"intake {entry.intake_id} ({entry.file})"
        if entry.table_name not in registry.tables:
            yield f"{who}: no plugin brings its table '{entry.table_name}' any more; its rows were not looked at."
            continue
        landed = frames.one_value(
            con, f'SELECT count(*) FROM "{entry.table_name}" WHERE intake_id = ?', [entry.intake_id]
        )
        if landed != entry.rows_landed:
            rows = f"{entry.rows_landed:,} {'row was' if entry.rows_landed == 1 else 'rows were'}"
            yield f"{who}: {rows} taken in, the store holds {landed:,} of them."


def _overwritten(standing: list[ledger.Entry], decisions: Decisions) -> list[ledger.Entry]:
    """Those whose file holds a later edition by now: no second store can have their rows."""
    in_order = sorted(standing, key=lambda one: decisions.place(one.edition) or 0)
    last = {decisions.file_of(one.edition): one.edition for one in in_order}
    return [one for one in standing if last[decisions.file_of(one.edition)] != one.edition]


def _lost_editions(lost: list[ledger.Entry], rows: Mapping[int, int]) -> Iterator[str]:
    for entry in lost:
        if left := rows.get(entry.intake_id, 0):
            yield (
                f"{entry.file}: {left:,} rows of intake {entry.intake_id} are in force, but the file was overwritten "
                "by a later edition that does not hold them: keep each export under a name of its own."
            )


def _built(
    house: House, second: House, registry: Registry, standing: list[ledger.Entry], progress: Progress
) -> Iterator[str]:
    """Take every file that stands in once more, as a house without a store would; what could not be, in a sentence."""
    expected = {one.edition: one for one in standing}
    found: set[Edition] = set()
    there: dict[Name, Edition] = {}
    with opening.writing(second, registry.tables.values()) as con:
        decisions = Decisions.load(second.folder)
        desk = Desk(con=con, house=house, registry=registry, decisions=decisions, progress=progress)
        named = planning.named_by_settings(house, decisions)
        refused, jobs = jobs_of(desk, named, named)
        files = {one.file for one in standing}
        told = {one.file: one.problem for one in refused if one.file in files}
        yield from (f"It cannot be taken in again: {problem}" for problem in told.values())
        for plan in (plan for job in jobs for plan in job.plans):
            edition = Edition(plan.settings.name, plan.file.name, source_rows.fingerprint(plan))
            there[edition[:2]] = edition
            if edition in expected:
                found.add(edition)
                yield from _taken_in_again(desk, plan, expected[edition])
    for edition in sorted(one for one in expected.keys() - found if one.file not in told):
        now, name = there.get(edition[:2]), for_a_shell(edition.file)
        who = f"{edition.file}: {'is gone' if now is None else 'has changed'} since"
        mend = "'stillroom intake' takes it anew"
        if now is None:
            mend = f"put it back, or say that it is gone for good: {typed(f'stillroom gone {name}')}"
        elif now in decisions.undone:
            mend = f"what it holds now is undone; put it back, or {typed(f'stillroom redo {name}')}"
        yield f"{who} intake {expected[edition].intake_id} took it in: {mend}."


def _taken_in_again(desk: Desk, plan: Plan, entry: ledger.Entry) -> Iterator[str]:
    try:
        again = file_intake.take_in(desk, plan)
    except (FileRefused, PluginError, SettingsError) as refusal:
        yield f"intake {entry.intake_id} cannot be repeated: {refusal}"
        return
    counts = (again.rows_read, again.rows_landed, again.rows_set_aside, again.rows_passed_over)
    kept = (entry.rows_read, entry.rows_landed, entry.rows_set_aside, entry.rows_passed_over)
    if counts != kept:
        what = "its settings, its plugin or what its rows refer to" if plan.table.references else "settings or plugin"
        yield (
            f"{entry.file}: {_in_words(counts)}; intake {entry.intake_id} said {_in_words(kept)}: "
            f"{what} have changed since."
        )


def _in_words(counts: tuple[int, int, int, int]) -> str:
    return "{:,} rows read, {:,} landed, {:,} set aside, {:,} passed over".format(*counts)


def _compared(
    kept: duckdb.DuckDBPyConnection, second: House, registry: Registry
) -> tuple[tuple[str, tuple[str, ...]], ...]:
    """Every table and view of both stores, and how they differ."""
    tables = registry.tables
    with opening.reading(second, tables.values()) as con:
        again = {name: _figures(con, name) for name in model.names()}
    kept.execute(f"ATTACH '{str(second.store_path).replace(chr(39), chr(39) * 2)}' AS again (READ_ONLY)")
    found = []
    for table in layout.unchanged(kept, tables).values():
        sides = tuple(f"FROM ({in_force.query(kept, table, tables, at)})" for at in ("", "again."))
        found.append((table.name, _rows_differ(kept, table.title, _columns(table), *sides)))
    sides = tuple(
        f"FROM {at}set_aside WHERE intake_id IN (SELECT intake_id FROM {at}standing)" for at in ("", "again.")
    )
    found.append(("set_aside", _rows_differ(kept, "a row set aside", SET_ASIDE, *sides)))
    for name, figures in again.items():
        found.append((name, _figures_differ(name, _figures(kept, name), figures)))
    return tuple(found)


def _columns(table: Table) -> tuple[str, ...]:
    return tuple(f'"{column}"' for column in (*table.schema().columns, "file", "row_number"))


def _rows_differ(
    con: duckdb.DuckDBPyConnection, title: str, columns: tuple[str, ...], kept: str, again: str
) -> tuple[str, ...]:
    """Rows that only one of the stores has, compared cell by cell, with their file and row number."""
    names = ", ".join(columns)
    sides = {"the store has": f"SELECT {names} {kept}", "the files have": f"SELECT {names} {again}"}
    differences = []
    for (side, query), other in zip(sides.items(), reversed(sides.values()), strict=True):
        only = f"SELECT file, row_number FROM ({query} EXCEPT ALL {other})"
        count = frames.one_value(con, f"SELECT count(*) FROM ({only})")
        if count:
            first = con.execute(f"{only} ORDER BY ALL LIMIT {SHOWN}").fetchall()
            where = "; ".join(f"{file} row {number}" for file, number in first)
            rows = "row of this kind" if count == 1 else "rows of this kind"
            differences.append(f"{count:,} {rows} only {side} ({where}): {title}.")
    return tuple(differences)


def _figures(con: duckdb.DuckDBPyConnection, name: str) -> dict[str, int]:
    """What tells a view's rows from others, in whatever order they come: their number, and sums of hashes.

    Under '' stand the rows, under each column's name its cells alone, so that a difference can be said to be there.
    """
    columns = [column[0] for column in con.execute(f'SELECT * FROM "{name}" LIMIT 0').description]
    parts = ", ".join(_sum_of_hashes(f'v."{column}"') for column in columns)
    row = frames.one_row(con, f'SELECT count(*), {_sum_of_hashes("v")}, {parts} FROM "{name}" AS v')
    assert row is not None
    return dict(zip((ROWS, "", *columns), row, strict=True))


def _sum_of_hashes(what: str) -> str:
    return f"coalesce(sum(CAST(hash({what}) AS HUGEINT)), 0)"


def _figures_differ(name: str, kept: dict[str, int], again: dict[str, int]) -> tuple[str, ...]:
    if kept == again:
        return ()
    about = model.view(name).about.partition(". ")[0].rstrip(".")
    if kept[ROWS] != again[ROWS]:
        return (f"{about}: the store has {kept[ROWS]:,} of them, the files give {again[ROWS]:,}.",)
    odd = [column for column, total in kept.items() if column and again.get(column) != total]
    where = f"other figures in {', '.join(odd)}" if odd else "the same figures beside one another otherwise"
    return (f"{about}: the files give as many ({kept[ROWS]:,}), with {where}.",)
