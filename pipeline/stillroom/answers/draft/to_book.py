"""A draft written into the house's spec book: the next version, in the file that holds today's, not in service."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from stillroom.analysis.specs.book import Line, SpecVersion
from stillroom.answers import added_rows
from stillroom.answers.draft.cells import Quantity, Said, cells_for
from stillroom.errors import FileRefused, StillroomError, UsageError
from stillroom.files import replace_all
from stillroom.house.decisions import Decisions
from stillroom.names import name_key
from stillroom.store import frames
from stillroom.writing.new_row import NewRow
from stillroom.writing.rows import with_rows
from stillroom_schemas.units import ALSO, conversions

if TYPE_CHECKING:
    import duckdb

    from stillroom.answers.draft.build import Draft
    from stillroom.house.house import House
    from stillroom.intake.planning import Plan
    from stillroom.plugins.registry import Registry

ROWS: Final = """
    SELECT rows.*, intake.source, intake.file AS edition_file, intake.sha256
    FROM current_{table} AS rows JOIN intake USING (intake_id)
    WHERE name_key(rows.spec) = ? AND rows.version = ? ORDER BY {order}
"""
HIGHEST: Final = """
    SELECT max(version) FROM (
        SELECT name_key(spec) AS name_key, version FROM current_spec
        UNION ALL SELECT name_key, version FROM spec_row_aside
    ) WHERE name_key = ?
"""
DATED: Final = """
    SELECT count(*) FROM current_spec
    WHERE name_key(spec) = ? AND coalesce(in_service_from, in_service_until) IS NOT NULL
"""
WHAT: Final = "the next version"


@dataclass(frozen=True, kw_only=True)
class Written:
    """The version that a draft became."""

    spec: str
    version: int
    files: tuple[str, ...]
    """Of the house, the spec's first."""


@dataclass(frozen=True, kw_only=True)
class _Part:
    """The rows of today's version in one table, and how their file is read."""

    plan: Plan
    rows: list[dict[str, Any]]
    cells: dict[int, dict[str, str]]
    """Row number -> heading -> cell, as it stands."""


def write(con: duckdb.DuckDBPyConnection, house: House, registry: Registry, draft: Draft) -> Written:
    """Add a draft to the file of its spec and to that of its lines, which are one where each is a sheet of it.

    Raises:
        UsageError: the draft holds what nobody lists, misses an aim, or would be in service at once.
        FileRefused: a file has changed, or cannot be written as it is kept. Nothing is written.
    """
    today, drafted = draft.before.spec, draft.after.spec
    _refuse_unlisted(draft)
    missed = [one.aim.text for one in draft.aims if not one.met]
    if missed:
        raise UsageError(
            f"--write: the draft misses {', '.join(missed)}: ask for what can be had, or for less. Nothing was written."
        )
    if drafted.lines == today.lines:
        raise UsageError(f"--write: the draft is {today.label} as it is. Nothing was written.")
    highest = frames.one_value(con, HIGHEST, [name_key(today.spec)])
    if highest is None:
        raise UsageError(f"--write: the spec book has no {today.spec}: enter it there by hand. Nothing was written.")
    version = 1 + int(highest)
    spec, lines = _part(con, house, registry, "spec", today), _part(con, house, registry, "spec_line", today)
    _refuse_undated(con, today, spec)
    new = _new_rows(spec, lines, drafted, version)
    contents: dict[Path, bytes] = {}
    for part, rows in new:
        file = part.plan.file
        headings = list(next(iter(part.cells.values())))
        contents[file.path] = with_rows(file, contents.get(file.path) or file.path.read_bytes(), headings, rows)
    for part in (spec, lines):
        expected = _expected(part, spec, drafted, version)
        added_rows.refuse_other(part.plan, house, contents[part.plan.file.path], expected, WHAT)
    try:
        replace_all(contents)
    except OSError as error:
        names = " and ".join(dict.fromkeys(part.plan.file.name for part in (spec, lines)))
        raise FileRefused(f"{names}: cannot be written ({error.strerror}). Nothing was written.") from None
    return Written(
        spec=today.spec,
        version=version,
        files=tuple(dict.fromkeys(part.plan.file.name for part in (spec, lines))),
    )


def _refuse_unlisted(draft: Draft) -> None:
    unlisted = [line.item for line in draft.after.spec.lines if line.item in draft.unlisted]
    if unlisted:
        raise UsageError(
            f"--write: neither the price list nor the spec book holds '{unlisted[0]}': enter it there first. "
            "Nothing was written."
        )


def _refuse_undated(con: duckdb.DuckDBPyConnection, today: SpecVersion, part: _Part) -> None:
    """Where no version has a day of service, the highest is in service always."""
    if frames.one_value(con, DATED, [name_key(today.spec)]):
        return
    row = part.rows[0]["row_number"]
    has_heading = "in_service_from" in part.plan.layout.headings
    where = f"row {row}" if has_heading else f"row {row}, in a new column in_service_from"
    raise UsageError(
        f"--write: no version of {today.spec} has a day of service, so that a new one would be in service at once: "
        f"enter in_service_from of version {today.version} ({part.plan.file.name}, {where}), and take it in. "
        "Nothing was written."
    )


# What stands there ----------------------------------------------------------------------------------


def _part(con: duckdb.DuckDBPyConnection, house: House, registry: Registry, table: str, spec: SpecVersion) -> _Part:
    """The rows of a version in one table, with their cells."""
    from stillroom.intake import planning, source_rows

    order = "line" if table == "spec_line" else "version"
    query = ROWS.format(table=table, order=order)
    rows = frames.fetch(con, query, [name_key(spec.spec), spec.version]).to_dicts()
    if not rows:
        raise UsageError(f"--write: {spec.label} has no lines in the spec book. Nothing was written.")
    first = rows[0]
    if any(row["intake_id"] != first["intake_id"] for row in rows):
        raise FileRefused(f"The lines of {spec.label} stand in several files: write the next version by hand.")
    name = first["edition_file"]
    for one in planning.named_by_settings(house, Decisions.load(house.folder)):
        with suppress(StillroomError):
            plan = planning.plan(one, registry)
            if (plan.settings.name, plan.file.name, plan.table.name) == (first["source"], name, table):
                break
    else:
        raise FileRefused(f"{name}: is not there, or read in another way by now. Nothing was written.")
    if source_rows.fingerprint(plan) != first["sha256"]:
        raise FileRefused(f"{name}: has changed since it was taken in: run 'stillroom intake' first.")
    added_rows.refuse_unless_list(plan, WHAT)
    return _Part(plan=plan, rows=rows, cells=added_rows.cells(plan))


# What is added --------------------------------------------------------------------------------------


def _new_rows(spec: _Part, lines: _Part, drafted: SpecVersion, version: int) -> list[tuple[_Part, list[NewRow]]]:
    """The rows to add to the file, or the sheet, of each part; to one that says both, once."""
    added = list(_line_rows(lines, drafted, version))
    says = _spec_says(spec, drafted, version)
    if (spec.plan.file.path, spec.plan.file.sheet) == (lines.plan.file.path, lines.plan.file.sheet):
        return [(lines, list(_of_both(spec, lines, added, says)))]
    row = spec.rows[0]["row_number"]
    cells = cells_for(spec.plan, spec.cells[row], says, {})
    return [(spec, [NewRow(like=row, cells=cells)]), (lines, added)]


def _of_both(spec: _Part, lines: _Part, added: Sequence[NewRow], says: Mapping[str, Said]) -> Iterator[NewRow]:
    """Rows that say the spec and its lines at once: what the spec says stands where it stands today.

    That is in the first row, or in those below, too, as today's second row has it.
    """
    below = lines.cells[lines.rows[min(1, len(lines.rows) - 1)]["row_number"]]
    headings = {heading for several in spec.plan.layout.headings.values() for heading in several}
    for place, row in enumerate(added):
        model = below if place else spec.cells[spec.rows[0]["row_number"]]
        there = {**lines.cells[row.like], **{heading: model[heading] for heading in headings}}
        new = {h: cell for h, cell in cells_for(spec.plan, there, says, {}).items() if there[h]}
        yield NewRow(like=row.like, cells={**row.cells, **{h: there[h] for h in headings - row.cells.keys()}, **new})


def _line_rows(part: _Part, drafted: SpecVersion, version: int) -> Iterator[NewRow]:
    """A row for each line: like that of the same item today, else like the last one with nothing else in it.

    Names stand as they do today: in every row, or in the first alone.
    """
    today = {name_key(row["item"]): row for row in part.rows}
    used = {heading for several in part.plan.layout.headings.values() for heading in several}
    names = {heading for column in ("spec", "version") for heading in part.plan.layout.headings.get(column, ())}
    first, below = (part.cells[part.rows[place]["row_number"]] for place in (0, min(1, len(part.rows) - 1)))
    for place, line in enumerate(drafted.lines, 1):
        row = today.get(name_key(line.item))
        like = row or part.rows[-1]
        named = {heading: (first if place == 1 else below)[heading] for heading in names}
        cells = {**part.cells[like["row_number"]], **named}
        said: dict[str, Said] = {"line": place}
        if any(named.values()):
            said["version"] = version
        blank: dict[str, str] = {}
        if row is None:
            said |= {"item": line.item, "amount": Quantity(amount=line.amount, unit=line.unit, stands=None)}
            blank = {heading: "" for heading in cells if heading not in used}
        elif not _same_amount(row, line):
            said["amount"] = Quantity(amount=line.amount, unit=line.unit, stands=(row["amount"], row["unit"]))
        new = cells_for(part.plan, cells, said, {"item": like["item"]})
        yield NewRow(like=like["row_number"], cells={**blank, **named, **new})


def _same_amount(row: Mapping[str, Any], line: Line) -> bool:
    base, factor = conversions()[row["unit"]]
    return base == line.base and abs(row["amount"] * factor - line.base_amount) <= 1e-9 * line.base_amount


def _spec_says(part: _Part, drafted: SpecVersion, version: int) -> dict[str, Said]:
    row = part.rows[0]
    said: dict[str, Said] = {"version": version, "in_service_from": "", "in_service_until": ""}
    if (note := _note(part)) is not None:
        said["note"] = note
    makes = _makes(row, drafted)
    if makes != row["yield_amount"]:
        unit = ALSO.get(row["yield_unit"], row["yield_unit"])
        said["yield_amount"] = Quantity(amount=makes, unit=unit, stands=(row["yield_amount"], row["yield_unit"]))
    return said


def _note(part: _Part) -> str | None:
    """Where the book has notes: which version it was drafted from, and what is noted there; None elsewhere.

    What is noted may be what one has to be careful of, so that it stays.
    """
    headings = part.plan.layout.headings
    if sum(several == headings.get("note") for several in headings.values()) != 1:
        return None
    row = part.rows[0]
    return f"From version {row['version']}{': ' if row['note'] else ''}{row['note'] or ''}"


def _makes(row: Mapping[str, Any], drafted: SpecVersion) -> float:
    """What a making gives, to four figures, in the unit of the row; as it stands there where that has not changed."""
    makes = drafted.yield_amount / conversions()[row["yield_unit"]][1]
    stands: float = row["yield_amount"]
    return stands if abs(makes - stands) <= added_rows.CLOSE * stands else float(f"{makes:.4g}")


# Reading back ---------------------------------------------------------------------------------------


def _expected(part: _Part, spec: _Part, drafted: SpecVersion, version: int) -> list[dict[str, Any]]:
    """The rows of a table that the new version is."""
    if part.plan.table.name == "spec":
        row = part.rows[0]
        changed = {"version": version, "in_service_from": None, "in_service_until": None}
        note = _note(part) or row["note"]
        return [{**row, **changed, "yield_amount": _makes(row, drafted), "note": note}]
    return [
        {"spec": spec.rows[0]["spec"], "version": version, "line": place, "item": line.item,
         "amount": line.base_amount, "unit": line.base}
        for place, line in enumerate(drafted.lines, 1)
    ]  # fmt: skip
