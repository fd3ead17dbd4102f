"""Takes a file in for trial, by the intake's own steps, into a store that is thrown away."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any, Final

from stillroom.files import scratch_folder
from stillroom.house.decisions import Decisions
from stillroom.house.house import House
from stillroom.intake import file_intake
from stillroom.intake.file_intake import Desk
from stillroom.intake.outcome import Outcome, Progress
from stillroom.intake.planning import Plan
from stillroom.plugins.registry import Registry
from stillroom.store import frames, opening

SHOWN_ROWS: Final = 5
SHOWN_REASONS: Final = 5
REASONS: Final = """
    SELECT "column", problem, count(DISTINCT row_number) AS rows, min(row_number) AS first_row,
        arg_min("value", (row_number, "value")) AS "value"  -- a row of a wide file can stand here several times
    FROM set_aside GROUP BY ALL ORDER BY first_row, "column", problem
"""

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


def rehearse(house: House, registry: Registry, plan: Plan, progress: Progress) -> Rehearsal:
    """Take a planned file in, for trial. Partners in other tables are not asked for: only the real store has them.

    Raises:
        FileRefused: the file would be refused as a whole.
        PluginError: its source's plugin fails.
    """
    alone = replace(plan, table=replace(plan.table, references=()))
    with scratch_folder() as folder:
        scratch = house.model_copy(update={"folder": folder})
        with opening.for_trial(scratch, registry.tables.values()) as con:
            none = Decisions.load(scratch.folder)
            desk = Desk(con=con, house=house, registry=registry, decisions=none, progress=progress)
            outcome = file_intake.take_in(desk, alone)
            columns = ", ".join(f'"{name}"' for name in plan.table.schema().columns)
            first = frames.fetch(
                con, f'SELECT row_number, {columns} FROM "{plan.table.name}" ORDER BY ALL LIMIT {SHOWN_ROWS}'
            )
            reasons = frames.fetch(con, REASONS).to_dicts()
            aside = con.execute(ASIDE).fetchall()
    return Rehearsal(
        outcome=outcome,
        first_rows=tuple(first.to_dicts()),
        reasons=tuple(reasons[:SHOWN_REASONS]),
        more_reasons=max(0, len(reasons) - SHOWN_REASONS),
        aside=tuple(
            Aside(row_number=number, column=column, problem=problem, cells=_cells(row))
            for number, column, problem, row in aside
        ),
    )
