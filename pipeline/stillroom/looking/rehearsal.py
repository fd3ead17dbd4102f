"""Takes a file in for trial, by the intake's own steps, into a store that is thrown away."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from stillroom.errors import StoreError
from stillroom.files import scratch_folder
from stillroom.house.decisions import Decisions
from stillroom.house.house import House
from stillroom.intake import file_intake
from stillroom.intake.file_intake import Desk
from stillroom.intake.outcome import Outcome, Progress
from stillroom.intake.planning import Plan
from stillroom.names import key_in_sql, name_key, nearest
from stillroom.plugins.registry import Registry
from stillroom.store import frames, opening

SHOWN_ROWS: Final = 5
SHOWN_REASONS: Final = 5
REASONS: Final = """
    SELECT "column", problem, count(DISTINCT row_number) AS rows, min(row_number) AS first_row,
        arg_min("value", (row_number, "value")) AS "value"  -- a row of a wide file can stand here several times
    FROM set_aside GROUP BY ALL ORDER BY first_row, "column", problem
"""

NAMES: Final = {"batch": "preparation", "tasting": "spec", "trial": "spec", "till_match": "spec"}
"""Tables that name specs, each with its column."""

ASIDE: Final = """
    SELECT row_number, "column", problem, "row" FROM set_aside ORDER BY row_number, "column", problem LIMIT 500
"""


@dataclass(frozen=True, kw_only=True)
class Rehearsal:
    """What would become of a file."""

    outcome: Outcome
    first_rows: tuple[dict[str, Any], ...]
    """The first rows that would land: row_number, and every column of the table."""
    reasons: tuple[dict[str, Any], ...]
    """column, problem, rows (how many lines of the file), first_row and its value; the first few, by first row."""
    more_reasons: int
    unknown: tuple[str, ...] = ()
    """Names of specs that the house's spec book does not have, each in a sentence."""
    aside: tuple[Aside, ...] = ()
    """The first rows that would be set aside, each as often as something is wrong with it."""


@dataclass(frozen=True, kw_only=True)
class Aside:
    """What is wrong with a row, and the row as it stands in the file."""

    row_number: int
    column: str | None
    problem: str
    cells: Mapping[str, str]
    """Heading -> cell."""


def _cells(row: str) -> dict[str, str]:
    return {heading: cell or "" for heading, cell in json.loads(row).items()}


def _named(table: str, column: str) -> str:
    """Every name of a table's column once, with its first row."""
    return f"""
        SELECT arg_min("{column}", row_number), min(row_number) FROM "{table}" WHERE "{column}" IS NOT NULL
        GROUP BY {key_in_sql(f'"{column}"')} ORDER BY 2
    """


def _specs_of(house: House, registry: Registry) -> tuple[str, ...]:
    """The specs that the house has by now; none where its store cannot be asked."""
    if not house.store_path.exists():
        return ()
    try:
        with opening.reading(house, registry.tables.values()) as con:
            return tuple(spec for (spec,) in con.execute("SELECT spec FROM spelling ORDER BY spec").fetchall())
    except StoreError:
        return ()


def _unknown(named: Sequence[tuple[str, int]], specs: Sequence[str]) -> tuple[str, ...]:
    known = {name_key(spec) for spec in specs}
    lacking = [(name, row, nearest(name, specs)) for name, row in named if known and name_key(name) not in known]
    return tuple(
        f"row {row}: {name} is no spec{f': did you mean {meant}?' if meant else '.'}" for name, row, meant in lacking
    )


def rehearse(house: House, registry: Registry, plan: Plan, progress: Progress) -> Rehearsal:
    """Take a planned file in, for trial. Partners in other tables are not asked for: only the real store has them.

    Raises:
        FileRefused: the file would be refused as a whole.
        PluginError: its source's plugin fails.
    """
    with scratch_folder() as folder:
        scratch = house.model_copy(update={"folder": folder})
        with opening.for_trial(scratch, registry.tables.values()) as con:
            none = Decisions.load(scratch.folder)
            desk = Desk(con=con, house=house, registry=registry, decisions=none, progress=progress, alone=True)
            outcome = file_intake.take_in(desk, plan)
            columns = ", ".join(f'"{name}"' for name in plan.table.schema().columns)
            first = frames.fetch(
                con, f'SELECT row_number, {columns} FROM "{plan.table.name}" ORDER BY ALL LIMIT {SHOWN_ROWS}'
            )
            reasons = frames.fetch(con, REASONS).to_dicts()
            aside = con.execute(ASIDE).fetchall()
            named = (
                con.execute(_named(plan.table.name, NAMES[plan.table.name])).fetchall()
                if plan.table.name in NAMES
                else []
            )
    return Rehearsal(
        outcome=outcome,
        first_rows=tuple(first.to_dicts()),
        reasons=tuple(reasons[:SHOWN_REASONS]),
        more_reasons=max(0, len(reasons) - SHOWN_REASONS),
        unknown=_unknown(named, _specs_of(house, registry) if named else ()),
        aside=tuple(
            Aside(row_number=number, column=column, problem=problem, cells=_cells(row))
            for number, column, problem, row in aside
        ),
    )
