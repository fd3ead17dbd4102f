"""Which of the rows that were set aside wait to be corrected."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Final

from stillroom.house.house import House
from stillroom.store import frames

if TYPE_CHECKING:
    import duckdb
    import polars as pl


SPEC_ROWS: Final = """
    SELECT w.*, i.source, i.table_name FROM open_rows AS w JOIN intake AS i USING (intake_id)
    WHERE i.table_name IN ('spec', 'spec_line')
    QUALIFY row_number() OVER (PARTITION BY w.intake_id, w.row_number ORDER BY w."column") = 1
    ORDER BY w.intake_id, w.row_number
"""


def open_rows(con: duckdb.DuckDBPyConnection, intake_id: int | None = None) -> pl.DataFrame:
    """What is set aside and waits to be corrected: a row for each problem, of intakes that stand.

    A file that was corrected where it lies and taken in again says all that its earlier edition said: what was set
    aside of that edition waits no longer.
    """
    return frames.fetch(
        con,
        """
        SELECT s.intake_id, s.file, s.row_number, s."column", s.problem, s."value", s.rule, s."row"
        FROM set_aside AS s JOIN intake AS i ON i.intake_id = s.intake_id
        WHERE i.undone_at IS NULL AND s.corrected_by IS NULL AND ($1 IS NULL OR s.intake_id = $1)
        AND s.intake_id NOT IN (SELECT unnest($2::INTEGER[]))
        ORDER BY s.intake_id, s.row_number, s."column"
        """,
        [intake_id, _replaced(con)],
    )


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
        del row["intake_id"]
        spec, version = (
            " ".join(" ".join(cells.get(h.casefold()) or "" for h in headings.get(name, (name,))).split())
            for name in ("spec", "version")
        )
        row |= {"spec": spec, "written": version, "version": int(version) if version.isdecimal() else None}
    text = dict.fromkeys(("table_name", "spec", "written", "file", "column", "problem", "value", "rule"), pl.String)
    frame = pl.DataFrame(rows, schema={**text, "row_number": pl.Int64, "version": pl.Int64})
    return frame.with_columns(name_key=pl.col("spec").str.to_lowercase())


def _replaced(con: duckdb.DuckDBPyConnection) -> list[int]:
    """Intakes with rows set aside, of whose file a later edition stands that has replaced all that landed of theirs.

    Where nothing landed, a later export of the till under the same name may be of other days: those rows wait on.
    """
    editions = con.execute(
        """
        SELECT DISTINCT older.intake_id, older.table_name, older.place
        FROM intake AS older
        JOIN intake AS older_file ON older_file.intake_id = coalesce(older.corrects, older.intake_id)
        JOIN intake AS newer_file ON newer_file.file = older_file.file
        JOIN intake AS newer ON newer_file.intake_id = coalesce(newer.corrects, newer.intake_id)
        WHERE older.place < newer.place AND older.table_name = newer.table_name
        AND older.undone_at IS NULL AND newer.undone_at IS NULL AND older.rows_set_aside > 0
        AND (older.rows_landed > 0 OR older.table_name <> 'sale')
        """
    ).fetchall()
    return [number for number, table, place in editions if not _counts(con, table, place)]


def _counts(con: duckdb.DuckDBPyConnection, table: str, place: int) -> bool:
    """Whether a row of the file at this place, or of its corrections, is in force."""
    query = f"""
        SELECT 1 FROM "{table}" WHERE superseded_by IS NULL
        AND intake_id IN (SELECT intake_id FROM intake WHERE table_name = ? AND place = ?) LIMIT 1
    """
    return frames.one_row(con, query, [table, place]) is not None
