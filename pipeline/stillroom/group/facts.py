"""What leaves a house for its group: each table's columns, and the query on the house's store that fills it.

Every table is partitioned by `house` and `run_id`, which the intake adds. Facts count while the table `houses` says
that their run is the one that counts for the house (`tables.counting`). Nobody's name and no free text leaves a house:
panelists, sessions, batches and files are numbers within it, and what else is text is a name of the spec book, a word
of Stillroom's own, or a scored attribute. Names compare by the columns that end in `_key` (`names.name_key`).
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Final

from stillroom.store import frames

if TYPE_CHECKING:
    import duckdb
    import polars as pl

HOUSES: Final = "houses"


def _columns(text: str) -> Mapping[str, str]:
    """'day Date, drink String' -> column and type, as a statement that makes a table has them."""
    return dict(one.split() for one in text.split(", "))


COLUMNS: Final[Mapping[str, Mapping[str, str]]] = {
    HOUSES: _columns(
        "house String, run_id String, state String, reason_code String, first_day Date, last_day Date, "
        "rows_read Int64, landed Int64, aside Int64, passed_over Int64, files_digest String, committed_at Datetime"
    ),
    "daily_serves": _columns(
        "day Date, drink String, drink_key String, version Int64, serves Float64, net_takings Float64, "
        "net_price Float64"
    ),
    "preparation_use": _columns(
        "week Date, preparation String, preparation_key String, version Int64, batches Int64, unit String, "
        "made Float64, used Float64, lost Float64, unexplained Float64, made_money Float64, lost_money Float64"
    ),
    "batch_fates": _columns(
        "batch_number Int64, preparation String, preparation_key String, version Int64, made_on Date, use_by Date, "
        "ended_on Date, fate String, unit String, made Float64, used Float64, lost Float64, on_hand Float64, "
        "unexplained Float64, made_money Float64, lost_money Float64"
    ),
    "panel_scores": _columns(
        "spec String, spec_key String, version Int64, session_number Int64, session_on Date, panelist_number Int64, "
        "attribute String, score Float64, scale_low Float64, scale_high Float64, scale_kind String, position Int64, "
        "replicate Int64"
    ),
    "costs": _columns(
        "spec String, spec_key String, version Int64, from_day Date, cost Float64, per String, is_known Boolean"
    ),
    "ledger": _columns(
        "file_number Int64, source String, table String, rows_read Int64, landed Int64, aside Int64, passed_over Int64"
    ),
    "aside": _columns("file_number Int64, table String, column String, rule String, rows Int64"),
    "open_days": _columns("day Date, is_open Boolean, has_sales Boolean"),
}
"""Table -> its columns and their polars types; all but `houses` have `house` and `run_id` before them.

houses: one row a house that was ever tried, as it stands. `state`: 'landed', or 'failed' of one whose last intake
    failed: its facts are then those of the run before, or none where `run_id` is null. `reason_code`: a word of
    `intake.REASONS`; null of a house that landed. The rows are those of its files in force:
    rows_read = landed + aside + passed_over. `first_day`, `last_day`: of its sales. `committed_at`: UTC, when the state
    was written.
daily_serves: a drink's day over all venues of the house. `net_price`: takings by serve, discounts and all; null where
    none were sold. `version`: in service on the day; null of a drink without a spec.
preparation_use: all batches of a preparation that were made in a week (`week`: its Monday), and what has become of them
    since. Amounts are in `unit` (ml, g or each). `lost`: poured away, spoiled or left at its use-by.
batch_fates: one batch. `fate`: 'used up', 'poured away', 'spoiled', 'left at use-by' (what most of its loss was), or
    'on hand'. Money in the house's currency at the day's prices; null where a price is missing.
panel_scores: one score; panelists and sessions by a number within the house.
costs: of one serve of a drink, else of one ml, g or piece (`per`), from that day on. `cost` is null where a price is
    missing.
ledger: a file in force. `source`: the plugin that read it.
aside: rows that wait to be corrected. `column`: of the table; null where it is none of its columns.
open_days: from the first day with sales to the last. `is_open`: has sales, or lies silent on a weekday that has nearly
    always some, in a week with others.
"""

QUERIES: Final[Mapping[str, str]] = {
    "daily_serves": """
        SELECT
            business_date AS day, any_value(spec) AS drink, name_key(spec) AS drink_key, version,
            sum(serves) AS serves, sum(net_amount) AS net_takings,
            CASE WHEN sum(serves) > 0 THEN sum(net_amount) / sum(serves) END AS net_price
        FROM daily_serves GROUP BY business_date, name_key(spec), version
    """,
    "preparation_use": """
        SELECT
            CAST(date_trunc('week', made_on) AS DATE) AS week, preparation, name_key(preparation) AS preparation_key,
            version, count(*) AS batches, unit, sum(made) AS made, sum(used) AS used,
            sum(poured_away + spoiled + left_at_use_by) AS lost, sum(unexplained) AS unexplained,
            sum(cost_made) AS made_money, sum(cost_lost) AS lost_money
        FROM batch_fate GROUP BY date_trunc('week', made_on), preparation, version, unit
    """,
    "batch_fates": """
        SELECT
            row_number() OVER (ORDER BY made_on, preparation, batch) AS batch_number,
            preparation, name_key(preparation) AS preparation_key, version, made_on, use_by, ended_on,
            CASE
                WHEN on_hand > 0 THEN 'on hand'
                WHEN greatest(poured_away, spoiled, left_at_use_by) <= 0 THEN 'used up'
                WHEN spoiled >= greatest(poured_away, left_at_use_by) THEN 'spoiled'
                WHEN poured_away >= left_at_use_by THEN 'poured away'
                ELSE 'left at use-by'
            END AS fate,
            unit, made, used, poured_away + spoiled + left_at_use_by AS lost, on_hand, unexplained,
            cost_made AS made_money, cost_lost AS lost_money
        FROM batch_fate
    """,
    "panel_scores": """
        -- Numbers follow a hash, so that they tell nothing of the names' order.
        SELECT
            spec, name_key(spec) AS spec_key, version,
            dense_rank() OVER (ORDER BY md5(name_key(session))) AS session_number,
            tasted_on AS session_on,
            dense_rank() OVER (ORDER BY md5(name_key(panelist))) AS panelist_number,
            attribute, score, scale_low, scale_high, scale_kind, "position", replicate
        FROM panel_scores
    """,
    "costs": """
        SELECT
            c.spec, c.name_key AS spec_key, c.version, c.priced_from AS from_day,
            CASE WHEN s.kind = 'drink' THEN c.cost ELSE c.cost / s.yield_base END AS cost,
            CASE WHEN s.kind = 'drink' THEN 'serve' ELSE s.base END AS per, c.cost IS NOT NULL AS is_known
        FROM spec_cost AS c JOIN spec_version AS s ON s.name_key = c.name_key AND s.version = c.version
    """,
    "ledger": """
        SELECT
            i.intake_id AS file_number, i.plugin AS source, i.table_name AS "table", i.rows_read,
            i.rows_landed AS landed, i.rows_set_aside AS aside, i.rows_passed_over AS passed_over
        FROM intake AS i SEMI JOIN standing USING (intake_id)
    """,
    "aside": """
        SELECT
            r.intake_id AS file_number, r.table_name AS "table", c.column_name AS "column", r.rule, count(*) AS "rows"
        FROM row_aside AS r
        LEFT JOIN duckdb_columns() AS c
            ON c.database_name = current_database() AND c.table_name = r.table_name AND c.column_name = r."column"
        GROUP BY ALL
    """,
    "open_days": """
        WITH sold AS (SELECT DISTINCT business_date AS day FROM till_day),
        silent AS (SELECT DISTINCT business_date AS day FROM silent_day)
        SELECT
            CAST(days.day AS DATE) AS day, sold.day IS NOT NULL OR silent.day IS NOT NULL AS is_open,
            sold.day IS NOT NULL AS has_sales
        FROM (
            SELECT unnest(generate_series(min(day), max(day), INTERVAL 1 DAY)) AS day FROM sold
        ) AS days
        LEFT JOIN sold ON sold.day = days.day
        LEFT JOIN silent ON silent.day = days.day
    """,
}
"""Table -> its rows, from a house's store."""

OF_THE_HOUSE: Final = """
    SELECT
        (SELECT min(business_date) FROM till_day) AS first_day, (SELECT max(business_date) FROM till_day) AS last_day,
        CAST(coalesce(sum(rows_read), 0) AS BIGINT) AS rows_read,
        CAST(coalesce(sum(rows_landed), 0) AS BIGINT) AS landed,
        CAST(coalesce(sum(rows_set_aside), 0) AS BIGINT) AS aside,
        CAST(coalesce(sum(rows_passed_over), 0) AS BIGINT) AS passed_over
    FROM intake SEMI JOIN standing USING (intake_id)
"""
"""What `houses` says of the files of a house."""


def schema(table: str) -> dict[str, pl.DataType]:
    """Column -> polars type of a table, `house` and `run_id` first."""
    import polars as pl

    types = {
        "String": pl.String(),
        "Int64": pl.Int64(),
        "Float64": pl.Float64(),
        "Boolean": pl.Boolean(),
        "Date": pl.Date(),
        "Datetime": pl.Datetime("us", "UTC"),
    }
    return {name: types[kind] for name, kind in {"house": "String", "run_id": "String", **COLUMNS[table]}.items()}


def of_store(con: duckdb.DuckDBPyConnection, house: str, run_id: str) -> dict[str, pl.DataFrame]:
    """Every table's rows of one house, from its open store; all but `houses`."""
    import polars as pl

    found = {}
    for table, query in QUERIES.items():
        rows = frames.fetch(con, f"SELECT * FROM ({query}) ORDER BY ALL")
        its = schema(table)
        found[table] = rows.with_columns(house=pl.lit(house), run_id=pl.lit(run_id)).select(
            pl.col(name).cast(kind) for name, kind in its.items()
        )
    return found
