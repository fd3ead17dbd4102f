"""Which of the rows that were set aside wait to be corrected."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Final

from stillroom.house.house import House
from stillroom.names import key_of
from stillroom.store import frames

if TYPE_CHECKING:
    import duckdb
    import polars as pl

QUERY = """
    WITH out_of_date AS (
        -- All that landed of it gave way, and a later edition of the file stands: that one says again what it said.
        SELECT old.intake_id
        FROM standing AS old
        JOIN intake AS old_file ON old_file.intake_id = old.intake_id
        JOIN intake AS new_file ON new_file.source = old_file.source AND new_file.file = old_file.file
        JOIN standing AS new ON new.intake_id = new_file.intake_id AND new.place > old.place
        LEFT JOIN rows_in_force AS left_over ON left_over.intake_id = old.intake_id AND left_over.rows > 0
        WHERE old_file.rows_landed > 0 AND left_over.intake_id IS NULL
    )
    SELECT
        s.intake_id, s.file, s.row_number, s."column", s.problem, s."value", s.rule, s."row", i.sha256 AS edition
    FROM set_aside AS s SEMI JOIN standing USING (intake_id) ANTI JOIN out_of_date USING (intake_id)
    JOIN intake AS i USING (intake_id)
    WHERE $1 IS NULL OR s.intake_id = $1
    ORDER BY s.intake_id, s.row_number, s."column"
"""


MOST_DIGITS: Final = 19
"""A number of so many may not fit into a whole number of the store."""

SPEC_ROWS: Final = """
    SELECT w.*, i.source, i.table_name FROM open_rows AS w JOIN intake AS i USING (intake_id)
    WHERE i.table_name IN ('spec', 'spec_line')
    QUALIFY row_number() OVER (PARTITION BY w.intake_id, w.row_number ORDER BY w."column") = 1
    ORDER BY w.intake_id, w.row_number
"""


def open_rows(con: duckdb.DuckDBPyConnection, intake_id: int | None = None) -> pl.DataFrame:
    """What is set aside and waits to be corrected: a row for each problem, of intakes that stand."""
    return frames.fetch(con, QUERY, [intake_id])


def spec_rows(con: duckdb.DuckDBPyConnection, house: House) -> pl.DataFrame:
    """The rows of the spec book that wait, each once, with the spec that each is of.

    Returns:
        the columns of the table `spec_row_aside`; version is null where what is written is no number: such a row may be
        of any.
    """
    import polars as pl

    columns = {source.name: source.columns for source in house.sources}
    with frames.temporary(con, "open_rows", open_rows(con)):
        rows = frames.fetch(con, SPEC_ROWS).to_dicts()
    for row in rows:
        cells = {heading.casefold(): cell for heading, cell in json.loads(row.pop("row")).items()}
        headings = columns.get(row.pop("source"), {})
        del row["intake_id"], row["edition"]
        spec, version = (
            " ".join(" ".join(cells.get(h.casefold()) or "" for h in headings.get(name, (name,))).split())
            for name in ("spec", "version")
        )
        row |= {
            "spec": spec,
            "written": version,
            "version": int(version) if version.isdecimal() and len(version) < MOST_DIGITS else None,
        }
    text = dict.fromkeys(("table_name", "spec", "written", "file", "column", "problem", "value", "rule"), pl.String)
    frame = pl.DataFrame(rows, schema={**text, "row_number": pl.Int64, "version": pl.Int64})
    return frame.with_columns(name_key=key_of(pl.col("spec")))
