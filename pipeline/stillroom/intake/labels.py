"""Which batch a row is about that names its preparation and no label: the one that was there on that day.

A row goes to a batch only where no other can be meant; else it waits, and is told which there are. What was found is
looked up anew whenever the batches change.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, Any, Final

import polars as pl

from stillroom.intake.checking import NO_PROBLEMS, ROW_NUMBER
from stillroom.store import frames, in_force
from stillroom_schemas.table import Table

if TYPE_CHECKING:
    import duckdb

EVENT: Final = "batch_event"
USES: Final = ("used up", "counted")
"""What happens to a batch no later than its use-by; poured away it may be long after."""
MOST_TOLD: Final = 5


@dataclass
class _Batch:
    """A batch in force, and the day on which it ended, as far as labelled rows tell."""

    label: str
    made_on: date
    use_by: date | None
    ended_on: date | None = None

    def was_there(self, day: date, event: str) -> bool:
        """Whether this can have happened to it on that day."""
        late = self.use_by is not None and event in USES and day > self.use_by
        return self.made_on <= day and not late and (self.ended_on is None or day < self.ended_on)


def give(con: duckdb.DuckDBPyConnection, tables: Mapping[str, Table], table: Table, intake_id: int) -> pl.DataFrame:
    """Give rows of an intake that name a preparation the label of its batch; the problems of those that fit none."""
    if table.name != EVENT:
        return NO_PROBLEMS
    found = list(_found(con, tables, intake_id))
    given = [(*place, said) for place, said, problem in found if problem is None]
    if given:
        schema = {ROW_NUMBER: pl.Int64, "cell_number": pl.Int16, "label": pl.String}
        frame = pl.DataFrame(given, schema=schema, orient="row")
        with frames.temporary(con, "labels_found", frame):
            con.execute(
                "UPDATE batch_event SET batch = f.label FROM labels_found AS f "
                "WHERE batch_event.row_number = f.row_number AND batch_event.cell_number = f.cell_number "
                "AND intake_id = ?",
                [intake_id],
            ).fetchall()
    problems = [(place[0], "batch", problem, said, "reference") for place, said, problem in found if problem]
    return pl.DataFrame(problems, schema=NO_PROBLEMS.schema, orient="row")


def have_changed(con: duckdb.DuckDBPyConnection, tables: Mapping[str, Table], table: Table, intake_id: int) -> bool:
    """Whether rows of an intake would be given other labels now."""
    if table.name != EVENT:
        return False
    asked = "SELECT row_number, cell_number, batch FROM batch_event WHERE intake_id = ? AND preparation IS NOT NULL"
    now = {(*place, label) for place, label, problem in _found(con, tables, intake_id) if problem is None}
    return now != set(con.execute(asked, [intake_id]).fetchall())


def _found(
    con: duckdb.DuckDBPyConnection, tables: Mapping[str, Table], intake_id: int
) -> Iterator[tuple[tuple[int, int], str, str | None]]:
    """(row and cell number, label, None), or (row and cell number, preparation as written, what is wrong)."""
    asked = """
        SELECT row_number, cell_number, preparation, happened_on, event, amount FROM batch_event
        WHERE intake_id = ? AND preparation IS NOT NULL ORDER BY happened_on, row_number, cell_number
    """
    rows = con.execute(asked, [intake_id]).fetchall()
    if not rows:
        return
    by_name = _batches(con, tables, intake_id)
    labels = {batch.label.casefold(): batch for several in by_name.values() for batch in several}
    for row, cell, preparation, day, event, amount in rows:
        own = labels.get(preparation.casefold())
        fits = [own] if own else [one for one in by_name.get(preparation.casefold(), []) if one.was_there(day, event)]
        if len(fits) != 1:
            yield (row, cell), preparation, _problem(preparation, day, [one.label for one in fits])
            continue
        if _ends(event, amount):
            fits[0].ended_on = day
        yield (row, cell), fits[0].label, None


def _problem(preparation: str, day: date, fits: list[str]) -> str:
    if not fits:
        return f"there is no batch of {preparation} that was there on {day}: take in the batch, or write its label here"
    shown = ", ".join(fits[:MOST_TOLD]) + (", ..." if len(fits) > MOST_TOLD else "")
    return f"may be about any of the batches {shown}: write the label in the place of the preparation"


def _batches(con: duckdb.DuckDBPyConnection, tables: Mapping[str, Table], intake_id: int) -> dict[str, list[_Batch]]:
    """Preparation in small letters -> its batches in force, ended by what other files say of them."""
    found: dict[str, list[_Batch]] = {}
    query = in_force.query(con, tables["batch"], tables)
    asked = f"SELECT batch, preparation, made_on, use_by FROM ({query}) ORDER BY made_on, batch"
    for label, preparation, made_on, use_by in con.execute(asked).fetchall():
        found.setdefault(preparation.casefold(), []).append(_Batch(label, made_on, use_by))
    ends = dict(_ended(con, tables, intake_id))
    for batch in (one for several in found.values() for one in several):
        batch.ended_on = ends.get(batch.label.casefold())
    return found


def _ended(con: duckdb.DuckDBPyConnection, tables: Mapping[str, Table], intake_id: int) -> Iterator[tuple[str, Any]]:
    """(label in small letters, day) of batches that labelled rows of other files end."""
    query = in_force.query(con, tables[EVENT], tables)
    asked = f"""
        SELECT lower(batch), min(happened_on) FROM ({query})
        WHERE intake_id <> ? AND preparation IS NULL
            AND (event = 'used up' OR (event IN ('poured away', 'spoiled') AND amount IS NULL))
        GROUP BY 1
    """
    yield from con.execute(asked, [intake_id]).fetchall()


def _ends(event: str, amount: float | None) -> bool:
    return event == "used up" or (event != "counted" and amount is None)
