"""Whether the store still says what the files say: the ledger added up, the files compared, the store built once more.

Nothing is changed: the second store stands in a folder of its own beside the first, and is thrown away.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING, Final

from stillroom import model
from stillroom.errors import FileRefused, PluginError, SettingsError
from stillroom.house.house import House
from stillroom.house.model import SourceSettings
from stillroom.intake import corrections, file_intake, planning, source_rows
from stillroom.intake.outcome import Progress
from stillroom.intake.planning import Candidate, Plan
from stillroom.plugins.registry import Registry
from stillroom.store import frames, ledger, opening, supersede
from stillroom_schemas.table import Table

if TYPE_CHECKING:
    import duckdb

ROWS: Final = "*"
IN_FORCE: Final = "superseded_by IS NULL"
SET_ASIDE: Final = (
    *(f'"{column}"' for column in ("intake_id", "file", "row_number", "column", "problem", "value", "row")),
    "corrected_by IS NULL",
)
_STANDING: Final = "SELECT intake_id FROM main.intake WHERE undone_at IS NULL"
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
    with opening.reading(house, registry.tables.values()) as con:
        standing = ledger.entries(con, "undone_at IS NULL")
        differences = [*_ledger_faults(con, standing, registry), *_lost_editions(con, standing, registry)]
        whole = ledger.entries(con)
    with TemporaryDirectory(prefix=".stillroom-verify-", dir=house.folder) as folder:
        second = house.model_copy(update={"folder": Path(folder)})
        changed = [*_built(house, second, registry, whole, progress)]
        compared = () if changed else _compared(house, second, registry)
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
        if entry.rows_read != entry.rows_landed + entry.rows_set_aside + entry.rows_passed_over:
            yield f"{who}: the ledger does not add up: {entry.rows_read} rows read."
        if entry.table_name not in registry.tables:
            yield f"{who}: no plugin brings its table '{entry.table_name}' any more; its rows were not looked at."
            continue
        landed = frames.one_value(
            con, f'SELECT count(*) FROM "{entry.table_name}" WHERE intake_id = ?', [entry.intake_id]
        )
        if landed != entry.rows_landed:
            yield f"{who}: the ledger says {entry.rows_landed:,} rows landed, the table holds {landed:,}."


def _lost_editions(con: duckdb.DuckDBPyConnection, standing: list[ledger.Entry], registry: Registry) -> Iterator[str]:
    """Rows in force of an edition of a file that a later edition has overwritten: no second store can have them."""
    for entry in standing:
        if entry.table_name not in registry.tables or not _has_later_edition(_corrected(entry, standing), standing):
            continue
        left = frames.one_value(
            con, f'SELECT count(*) FROM "current_{entry.table_name}" WHERE intake_id = ?', [entry.intake_id]
        )
        if left:
            yield (
                f"{entry.file}: {left:,} rows of intake {entry.intake_id} are in force, but the file was overwritten "
                "by a later edition that does not hold them: keep each export under a name of its own."
            )


def _overwritten(entry: ledger.Entry, standing: list[ledger.Entry]) -> bool:
    """The file itself, or the one that it corrects."""
    return any(_has_later_edition(one, standing) for one in (entry, _corrected(entry, standing)))


def _corrected(entry: ledger.Entry, standing: list[ledger.Entry]) -> ledger.Entry:
    return next((one for one in standing if one.intake_id == entry.corrects), entry)


def _has_later_edition(entry: ledger.Entry, standing: list[ledger.Entry]) -> bool:
    return any(
        other.file == entry.file and other.sha256 != entry.sha256 and other.intake_id > entry.intake_id
        for other in standing
    )


def _built(
    house: House, second: House, registry: Registry, whole: list[ledger.Entry], progress: Progress
) -> Iterator[str]:
    """Take every file that stands in once more, in its place; what could not be, in a sentence each."""
    standing = [entry for entry in whole if entry.undone_at is None]
    order = [*registry.tables, *(entry.table_name for entry in whole)]  # as an intake goes: partners first
    with opening.writing(second, registry.tables.values()) as con:
        for entry in sorted(whole, key=lambda one: (order.index(one.table_name), *_after_what_it_corrects(one))):
            if entry.undone_at is not None or _overwritten(entry, standing):
                _leave_out(con, entry)
                continue
            try:
                yield from _taken_in_again(con, house, registry, entry, standing, progress)
            except (FileRefused, PluginError, SettingsError) as refusal:
                yield f"intake {entry.intake_id} cannot be repeated: {refusal}"
                _leave_out(con, entry)
        for table in registry.tables.values():
            supersede.mark_all_again(con, table)


def _after_what_it_corrects(entry: ledger.Entry) -> tuple[int, bool, int]:
    """The order of the ledger; but what corrects a file that was read anew since waits for its new reading."""
    return max(entry.intake_id, entry.corrects or 0), entry.corrects is not None, entry.intake_id


def _leave_out(con: duckdb.DuckDBPyConnection, entry: ledger.Entry) -> None:
    """A line of the ledger without rows: it may say which intake took the place of which."""
    ended = entry.undone_at or ledger.now()
    empty = replace(entry, rows_read=0, rows_landed=0, rows_set_aside=0, rows_passed_over=0)
    ledger.write(con, replace(empty, undone_at=ended))


def _taken_in_again(
    con: duckdb.DuckDBPyConnection,
    house: House,
    registry: Registry,
    entry: ledger.Entry,
    standing: list[ledger.Entry],
    progress: Progress,
) -> Iterator[str]:
    settings = next((one for one in house.sources if one.name == entry.source), None)
    settings = settings or SourceSettings(name=entry.source, plugin=entry.plugin)
    path = house.folder if settings.query is not None else _path_of(house, entry)
    if settings.query is None and not path.is_file():
        yield f"{entry.file}: is gone since intake {entry.intake_id} took it in: put it back, or undo that intake."
        _leave_out(con, entry)
        return
    candidate = Candidate(path=path, name=entry.file, settings=settings, sheet=entry.sheet)
    plan = corrections.plan(con, candidate, house, registry) or planning.plan(candidate, registry)
    if (source_rows.fingerprint(plan if isinstance(plan, Plan) else plan.plan)) != entry.sha256:
        yield f"{entry.file}: has changed since intake {entry.intake_id} took it in: 'stillroom intake' takes it anew."
        _leave_out(con, entry)
        return
    again = file_intake.take_in(con, house, registry, plan, progress, number=entry.intake_id)
    con.execute("UPDATE intake SET place = ? WHERE intake_id = ?", [entry.place, entry.intake_id])
    counts = (again.rows_read, again.rows_landed, again.rows_set_aside, again.rows_passed_over)
    kept = _counts(entry, standing)
    if counts != kept:
        refers = bool(registry.tables[entry.table_name].references)
        what = "its settings, its plugin or what its rows refer to" if refers else "its settings or its plugin"
        yield (
            f"{entry.file}: {_in_words(counts)}; intake {entry.intake_id} said {_in_words(kept)}: "
            f"{what} have changed since."
        )


def _counts(entry: ledger.Entry, standing: list[ledger.Entry]) -> tuple[int, int, int, int]:
    """Rows read, landed, set aside, passed over; with what earlier editions of a correction had landed before."""
    editions = [entry]
    if entry.corrects is not None:
        editions += [one for one in standing if one.file == entry.file and one.intake_id < entry.intake_id]
    landed, aside = sum(one.rows_landed for one in editions), sum(one.rows_set_aside for one in editions)
    return entry.rows_read, landed, aside, entry.rows_read - landed - aside


def _path_of(house: House, entry: ledger.Entry) -> Path:
    """Where a file is; a name with bytes that are spelt out in the ledger is found as the settings find it."""
    path = house.folder / entry.path
    if path.is_file():
        return path
    return next((one.path for one in planning.named_by_settings(house) if one.name == entry.file), path)


def _in_words(counts: tuple[int, int, int, int]) -> str:
    return "{:,} rows read, {:,} landed, {:,} set aside, {:,} passed over".format(*counts)


def _compared(house: House, second: House, registry: Registry) -> tuple[tuple[str, tuple[str, ...]], ...]:
    """Every table and view of both stores, and how they differ."""
    tables = list(registry.tables.values())
    with opening.reading(second, tables) as con:
        con.execute(f"ATTACH '{str(house.store_path).replace(chr(39), chr(39) * 2)}' AS kept (READ_ONLY)")
        found = [(table.name, _rows_differ(con, table.name, _columns(table), IN_FORCE)) for table in tables]
        found.append(("set_aside", _rows_differ(con, "set_aside", SET_ASIDE, f"intake_id IN ({_STANDING})")))
        ours = {name: _figures(con, name) for name in model.names()}
    with opening.reading(house, tables) as con:
        for name, again in ours.items():
            found.append((name, _figures_differ(name, _figures(con, name), again)))
    return tuple(found)


def _columns(table: Table) -> tuple[str, ...]:
    return tuple(f'"{column}"' for column in (*table.schema().columns, "file", "row_number"))


def _rows_differ(con: duckdb.DuckDBPyConnection, name: str, columns: tuple[str, ...], which: str) -> tuple[str, ...]:
    """Rows that only one of the stores has, compared cell by cell, with their file and row number."""
    names = ", ".join(columns)
    sides = {
        "the store": f'SELECT {names} FROM kept.main."{name}" WHERE {which}',
        "a new store": f'SELECT {names} FROM "{name}" WHERE {which}',
    }
    differences = []
    for (side, query), other in zip(sides.items(), reversed(sides.values()), strict=True):
        only = f"SELECT file, row_number FROM ({query} EXCEPT ALL {other})"
        count = frames.one_value(con, f"SELECT count(*) FROM ({only})")
        if count:
            first = con.execute(f"{only} ORDER BY ALL LIMIT {SHOWN}").fetchall()
            where = "; ".join(f"{file} row {number}" for file, number in first)
            differences.append(f"table {name}: {count:,} of its rows only {side} has ({where}).")
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
    if kept[ROWS] != again[ROWS]:
        return (f"view {name}: {kept[ROWS]:,} rows, a new store has {again[ROWS]:,}.",)
    odd = [column for column, total in kept.items() if column and again.get(column) != total]
    where = f"others in {', '.join(odd)}" if odd else "the same cells in other rows"
    return (f"view {name}: {kept[ROWS]:,} rows, as many as in a new store, which has {where}.",)
