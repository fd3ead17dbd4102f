"""Landing one file: all of it or nothing, in one transaction, with the ledger line that accounts for every row."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator, Mapping
from datetime import date
from typing import TYPE_CHECKING, Final

import polars as pl

from stillroom.errors import FileRefused
from stillroom.house.decisions import said_by
from stillroom.intake import doubtful, labels, makings, repeats
from stillroom.intake.checking import NO_PROBLEMS, PROBLEMS, ROW_NUMBER, Checked, texts_of
from stillroom.names import key_in_sql
from stillroom.objects import TextBatch
from stillroom.store import frames, in_force
from stillroom_schemas.table import Reference, Table

if TYPE_CHECKING:
    import duckdb


SPECS: Final = ("spec", "spec_line")
"""The tables in which something can be part of itself."""


def land_batch(con: duckdb.DuckDBPyConnection, table: Table, intake_id: int, file: str, checked: Checked) -> None:
    """Append a checked batch's good rows to its table, and its problems to `set_aside`."""
    frames.insert(con, table.name, checked.good, intake_id=intake_id, file=file)
    frames.insert(con, "set_aside", checked.problems, intake_id=intake_id, file=file)


def set_aside_among_rows(
    con: duckdb.DuckDBPyConnection,
    tables: Mapping[str, Table],
    table: Table,
    intake_id: int,
    file: str,
    reread: Callable[[], Iterator[TextBatch]],
    *,
    may_repeat: bool,
    taken_on: date,
    confirmed: frozenset[str],
    alone: bool = False,
) -> int:
    """What no single row shows: a key given twice, a partner that is not there, a day that is doubtful.

    Args:
        may_repeat: whether a key can stand twice in the file itself.
        taken_on: the day on which the file was first taken in.
        confirmed: rows that are right though doubtful (`Decisions.confirmed`).
        alone: the store holds nothing else, so that no partner is asked for.

    Returns:
        how many rows were set aside.
    """
    problems = [repeats.in_file(con, table, intake_id)] if may_repeat else []
    problems.append(doubtful.in_file(con, table, intake_id, taken_on))
    if not alone:
        nameless = labels.give(con, tables, table, intake_id)
        lonely = without_partner(con, tables, table, intake_id).join(nameless, on=ROW_NUMBER, how="anti")
        lacking = pl.concat([nameless, lonely])
        problems += [lacking, makings.give(con, tables, table, intake_id).join(lacking, on=ROW_NUMBER, how="anti")]
    found = pl.concat([NO_PROBLEMS, *problems])
    if found.is_empty():
        return 0
    texts = _texts(reread(), found[ROW_NUMBER].unique().sort())
    found = found.join(texts, on=ROW_NUMBER, how="left", maintain_order="left").with_columns(
        pl.col("row").fill_null("")
    )
    found = found.filter(~((pl.col("rule") == doubtful.RULE) & _among(found["row"], confirmed)))
    numbers = found[ROW_NUMBER].unique().sort()
    frames.insert(con, "set_aside", found.select(list(PROBLEMS)), intake_id=intake_id, file=file)
    # Not as many as there are numbers: in a file that is wide, several rows stand in one line, and go together.
    taken_out = con.execute(
        f'DELETE FROM "{table.name}" WHERE intake_id = ? AND row_number IN (SELECT unnest(?))',
        [intake_id, numbers.to_list()],
    ).fetchall()
    return int(taken_out[0][0])


def refuse_circles(con: duckdb.DuckDBPyConnection, tables: Mapping[str, Table], file: str) -> None:
    """A spec that is part of itself cannot be unfolded: the file that closes such a circle is refused."""
    specs, lines = (in_force.query(con, tables[name], tables) for name in SPECS)
    row = frames.one_row(
        con,
        f"""
        WITH RECURSIVE inside AS (
            SELECT DISTINCT {key_in_sql("l.spec")} AS spec, {key_in_sql("l.item")} AS item
            FROM ({lines}) AS l JOIN ({specs}) AS s ON {key_in_sql("s.spec")} = {key_in_sql("l.item")}
        ),
        walk AS (
            SELECT spec AS start, item, [spec, item] AS path FROM inside
            UNION ALL
            SELECT w.start, i.item, list_append(w.path, i.item)
            FROM walk AS w JOIN inside AS i ON i.spec = w.item
            WHERE NOT list_contains(w.path[2:], i.item)
        )
        SELECT path FROM walk WHERE item = start ORDER BY len(path), start LIMIT 1
        """,
    )
    if row is not None:
        path = " -> ".join(row[0])
        raise FileRefused(
            f"{file}: the specs go in a circle: {path}. A preparation cannot be part of itself; correct a line of it."
        )


def _texts(batches: Iterator[TextBatch], numbers: pl.Series) -> pl.DataFrame:
    """The whole rows of these numbers, read from the file once more."""
    return pl.concat(
        [
            pl.DataFrame(schema={ROW_NUMBER: pl.Int64, "row": pl.String}),
            *(texts_of(batch, numbers) for batch in batches),
        ]
    )


def confirmed_since(con: duckdb.DuckDBPyConnection, intake_id: int, confirmed: frozenset[str]) -> bool:
    """Whether a row of an intake that was set aside as doubtful is confirmed by now."""
    if not confirmed:
        return False
    asked = 'SELECT "row" FROM set_aside WHERE intake_id = ? AND rule = ?'
    return _among(frames.fetch(con, asked, [intake_id, doubtful.RULE])["row"], confirmed).any()


def _among(rows: pl.Series, confirmed: frozenset[str]) -> pl.Series:
    """Which rows, each as JSON text, are among those that were confirmed (a mask)."""
    return pl.Series(
        [bool(confirmed) and said_by(json.loads(row or "{}")) in confirmed for row in rows], dtype=pl.Boolean
    )


def without_partner(
    con: duckdb.DuckDBPyConnection, tables: Mapping[str, Table], table: Table, intake_id: int
) -> pl.DataFrame:
    """Rows of an intake that refer to what is not in force, or not yet."""
    found = [_without_partner(con, tables, table, reference, intake_id) for reference in table.references]
    return pl.concat(found) if found else NO_PROBLEMS


def _without_partner(
    con: duckdb.DuckDBPyConnection, tables: Mapping[str, Table], table: Table, reference: Reference, intake_id: int
) -> pl.DataFrame:
    partner = tables[reference.table]
    pairs = zip(
        in_force.folded(table, reference.columns), in_force.folded(partner, reference.table_columns, "p"), strict=True
    )
    same = " AND ".join(f"{ours} = {theirs}" for ours, theirs in pairs)
    value = " || ' v' || ".join(f't."{c}"' for c in reference.columns)
    words = reference.missing.replace("'", "''").replace("{value}", f"' || {value} || '")
    before, shown = "FALSE", "NULL"
    if reference.not_before:
        ours, theirs = reference.not_before
        before, shown = (
            f't."{ours}" < p."{theirs}"',
            f"'is before {theirs} of its {reference.table}, ' || p.\"{theirs}\"",
        )
    query = f"""
        SELECT t.row_number,
            CASE WHEN p.row_number IS NULL THEN '{reference.columns[0]}'
                ELSE '{reference.not_before[0] if reference.not_before else ""}' END AS "column",
            CASE WHEN p.row_number IS NULL THEN '{words}' ELSE {shown} END AS problem,
            CASE WHEN p.row_number IS NULL THEN CAST(t."{reference.columns[0]}" AS VARCHAR)
                ELSE CAST(t."{reference.not_before[0] if reference.not_before else reference.columns[0]}" AS VARCHAR)
            END AS value,
            'reference' AS rule
        FROM "{table.name}" AS t
        LEFT JOIN ({in_force.query(con, partner, tables)}) AS p ON {same}
        WHERE t.intake_id = ? AND (p.row_number IS NULL OR {before})
        ORDER BY t.row_number
    """
    return frames.fetch(con, query, [intake_id])
