"""Which of the rows that were set aside wait to be corrected."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any, Final

from stillroom.house.house import House
from stillroom.names import key_of
from stillroom.store import frames
from stillroom_schemas import TABLES

if TYPE_CHECKING:
    import duckdb
    import polars as pl

QUERY: Final = """
    WITH out_of_date AS (
        -- All that landed of it gave way, and a later edition of the file stands: that one says again what it said.
        SELECT old.intake_id
        FROM standing AS old
        JOIN intake AS old_file ON old_file.intake_id = old.intake_id
        JOIN standing AS new ON new.source = old.source AND new.file = old.file AND new.place > old.place
        LEFT JOIN rows_in_force AS left_over ON left_over.intake_id = old.intake_id AND left_over.rows > 0
        WHERE old_file.rows_landed > 0 AND left_over.intake_id IS NULL
    )
    SELECT
        s.intake_id, s.file, s.row_number, s."column", s.problem, s."value", s.rule, s."row", i.sha256 AS edition,
        i.source, i.table_name
    FROM set_aside AS s SEMI JOIN standing USING (intake_id) ANTI JOIN out_of_date USING (intake_id)
    JOIN intake AS i USING (intake_id)
    WHERE $1 IS NULL OR s.intake_id = $1
    ORDER BY s.intake_id, s.row_number, s."column"
"""

BESIDE: Final = """
    -- Rows of an export between two that a later one tells of whole: that one tells of what stood between them, too.
    WITH landed AS (
        SELECT t.row_number, bool_or(s.row_number IS NOT NULL) AS told
        FROM "{table}" AS t
        LEFT JOIN superseded AS s ON s.intake_id = t.intake_id AND s.row_number = t.row_number
        WHERE t.intake_id = $1 GROUP BY t.row_number
    )
    SELECT w.row_number
    FROM waiting_row AS w
    ASOF LEFT JOIN landed AS above ON w.row_number > above.row_number
    ASOF LEFT JOIN landed AS below ON w.row_number < below.row_number
    WHERE coalesce(above.told, below.told) AND coalesce(below.told, above.told)
"""
SUPERSEDED: Final = "SELECT 1 FROM superseded WHERE intake_id = ? LIMIT 1"

TOLD: Final = """
    SELECT w.place FROM waiting_key AS w
    WHERE EXISTS (
        FROM "current_{table}" AS t JOIN standing AS its ON its.intake_id = t.intake_id
        WHERE its.place > (SELECT place FROM standing AS own WHERE own.intake_id = w.intake_id) AND {same}
    )
"""
"""A row of a file kept by hand whose key a later file has: it was mended there."""

MOST_DIGITS: Final = 19
"""A number of so many may not fit into a whole number of the store."""

NAMED: Final = {
    "spec": ("spec", "version"),
    "spec_line": ("spec", "version"),
    "ingredient": ("item", ""),
    "till_match": ("till_item", ""),
    "tasting": ("spec", "version"),
    "trial": ("spec", "version_a"),
    "batch": ("preparation", "version"),
    "batch_event": ("batch", ""),
}
"""Table -> the columns of what a row of it is about, and of its version."""


def open_rows(con: duckdb.DuckDBPyConnection, house: House, intake_id: int | None = None) -> pl.DataFrame:
    """What is set aside and waits to be corrected: a row for each problem, of intakes that stand.

    Rows that a later file tells of are left out: they were corrected there.
    """
    import polars as pl

    rows = frames.fetch(con, QUERY, [intake_id]).with_row_index("place")
    mended = [
        place
        for (table, number), group in rows.group_by("table_name", "intake_id", maintain_order=True)
        for place in _told_since(con, house, table, number, group)
    ]
    return rows.filter(~pl.col("place").is_in(mended)).drop("place")


def _told_since(
    con: duckdb.DuckDBPyConnection, house: House, name: str, intake_id: int, rows: pl.DataFrame
) -> list[int]:
    """The places of those rows of an intake that a later file tells of."""
    import polars as pl

    table = next((table for table in TABLES if table.name == name), None)
    if table is not None and table.export is not None:
        if frames.one_row(con, SUPERSEDED, [intake_id]) is None:
            return []
        with frames.temporary(con, "waiting_row", rows.select("row_number").unique()):
            told = [number for (number,) in con.execute(BESIDE.format(table=name), [intake_id]).fetchall()]
        return rows.filter(pl.col("row_number").is_in(told))["place"].to_list()
    if table is None or not table.key:
        return []
    cells = _cells(rows, house, table.key)
    keys = pl.DataFrame(cells, schema=dict.fromkeys(table.key, pl.String)).with_columns(
        rows["place"], rows["intake_id"]
    )
    same = " AND ".join(
        f'name_key(coalesce(CAST(t."{column}" AS VARCHAR), \'\')) = name_key(w."{column}")' for column in table.key
    )
    with frames.temporary(con, "waiting_key", keys.filter(pl.col(table.key[0]) != "")):
        return [place for (place,) in con.execute(TOLD.format(table=name, same=same)).fetchall()]


def _cells(rows: pl.DataFrame, house: House, columns: Sequence[str]) -> list[dict[str, str]]:
    """What rows that were set aside have in some columns of their table, as text; '' where nothing stands."""
    headings: dict[str, Mapping[str, Sequence[str]]] = {source.name: source.columns for source in house.sources}
    found = []
    for source, row in rows.select("source", "row").iter_rows():
        cells = {heading.casefold(): cell for heading, cell in json.loads(row or "{}").items()}
        own = headings.get(source, {})
        found.append(
            {
                name: " ".join(" ".join(cells.get(h.casefold()) or "" for h in own.get(name, (name,))).split())
                for name in columns
            }
        )
    return found


def rows_aside(con: duckdb.DuckDBPyConnection, house: House) -> pl.DataFrame:
    """The rows that wait, each once, with what each is about.

    Returns:
        the columns of the table `row_aside`; version is null where what is written is no number: such a row may be of
        any.
    """
    import polars as pl

    rows = open_rows(con, house).unique(["intake_id", "row_number"], keep="first", maintain_order=True)
    about: list[dict[str, Any]] = []
    for (table,), group in rows.group_by("table_name", maintain_order=True):
        name, version = NAMED.get(table, ("", ""))
        cells = _cells(group, house, [one for one in (name, version) if one]) if name else [{}] * group.height
        for row, said in zip(group.drop("row", "edition", "source").to_dicts(), cells, strict=True):
            written = said.get(version, "")
            number = int(written) if written.isdecimal() and len(written) < MOST_DIGITS else None
            about.append({**row, "name": said.get(name, ""), "written": written, "version": number})
    texts = ("table_name", "name", "written", "file", "column", "problem", "value", "rule")
    schema = {**dict.fromkeys(texts, pl.String), "intake_id": pl.Int32, "row_number": pl.Int64, "version": pl.Int64}
    frame = pl.DataFrame(about, schema=schema)
    return frame.with_columns(name_key=key_of(pl.col("name")))
