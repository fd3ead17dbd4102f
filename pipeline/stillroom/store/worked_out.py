"""What no view in SQL can work out well, kept in tables: units, rows set aside, densities, use of batches."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from stillroom import model
from stillroom.house.house import House
from stillroom.names import key_in_sql
from stillroom.store import frames, waiting

if TYPE_CHECKING:
    import duckdb
    import polars as pl

MEMORY: Final = "1GB"
"""What the database may use: five million days of use and a million batches ask for more than taking files in does."""

TABLES: Final = {
    "unit": "unit VARCHAR PRIMARY KEY, base VARCHAR NOT NULL, factor DOUBLE NOT NULL",
    "free_item": "item_key VARCHAR PRIMARY KEY, density_g_ml DOUBLE NOT NULL",
    "known_item": "item_key VARCHAR NOT NULL, item VARCHAR NOT NULL, dissolves BOOLEAN NOT NULL, "
    "unit VARCHAR NOT NULL, "
    "sugar_pct DOUBLE, sugar_low DOUBLE, sugar_high DOUBLE, acid_pct DOUBLE, acid_low DOUBLE, acid_high DOUBLE, "
    "acid_kinds VARCHAR, abv_pct DOUBLE, abv_low DOUBLE, abv_high DOUBLE, density_g_ml DOUBLE, allergens VARCHAR, "
    "source VARCHAR NOT NULL",
    "row_aside": "table_name VARCHAR NOT NULL, name VARCHAR NOT NULL, name_key VARCHAR NOT NULL, version BIGINT, "
    "written VARCHAR NOT NULL, intake_id INTEGER NOT NULL, file VARCHAR NOT NULL, row_number BIGINT NOT NULL, "
    '"column" VARCHAR, problem VARCHAR NOT NULL, "value" VARCHAR, rule VARCHAR NOT NULL',
    "closed_day": "business_date DATE PRIMARY KEY",
    "spec_density": "name_key VARCHAR NOT NULL, version BIGINT NOT NULL, density_g_ml DOUBLE NOT NULL",
    "ingredient_density": "item_key VARCHAR NOT NULL, density_g_ml DOUBLE NOT NULL",
    "batch_use": "batch_key VARCHAR NOT NULL, used DOUBLE NOT NULL, held DOUBLE NOT NULL, "
    "poured_before_count DOUBLE NOT NULL, spoiled_before_count DOUBLE NOT NULL, last_served_on DATE, "
    "used_from DATE, used_to DATE",
}
"""Each table with its columns."""
FROM_ROWS: Final = ("row_aside", "closed_day", "spec_density", "ingredient_density", "batch_use")
"""Those that are filled anew whenever anything is derived; the others are the same whatever the rows are."""

TYPES: Final = ", ".join(f"'{c}': '{'DOUBLE' if c in model.COMMON_NUMBERS else 'VARCHAR'}'" for c in model.COMMON)
KNOWN_ITEMS: Final = f"""
    INSERT INTO known_item
    SELECT
        {key_in_sql("trim(name)")}, item, kind = 'dissolves',
        CASE WHEN coalesce(density_g_ml, abv_pct) IS NULL THEN 'g' ELSE 'ml' END,
        * EXCLUDE (item, also, kind, name)
    FROM (
        SELECT *, unnest(list_concat([item], coalesce(string_split(also, ';'), []))) AS name
        FROM read_csv(?, header = true, columns = {{{TYPES}}})
    )
    WHERE {key_in_sql("trim(name)")} NOT IN (SELECT item_key FROM known_item)
"""
"""Each common ingredient under each of its plain names, unless an earlier table has it; its file names the source."""
BATCHES: Final = """
    SELECT b.batch_key, stock.stock, b.made_on,
        least(b.use_by, l.ended_on, last_of_days()) AS until,
        greatest(b.made - coalesce(l.poured, 0) - coalesce(l.spoiled, 0), 0) AS held, l.spoiled_on
    FROM batch_made AS b
    JOIN stock ON stock.name_key = b.name_key AND stock.venue IS NOT DISTINCT FROM b.venue
    LEFT JOIN batch_loss AS l ON l.batch_key = b.batch_key
    WHERE b.made IS NOT NULL
    ORDER BY stock.stock, b.made_on, b.use_by NULLS LAST, b.batch
"""
COUNTS: Final = """
    SELECT batch_key, happened_on AS counted_on, amount AS counted,
        coalesce(sum(amount) FILTER (is_loss) OVER later, 0) AS lost_later,
        -- The day of the last loss without an amount up to this count, and of the count before: between them, this
        -- one shows what it took.
        max(happened_on) FILTER (takes_all AND event = 'poured away') OVER upto AS poured_on,
        max(happened_on) FILTER (takes_all AND event = 'spoiled') OVER upto AS spoiled_on,
        max(happened_on) FILTER (event = 'counted' AND amount IS NOT NULL) OVER earlier AS counted_before
    FROM batch_happening
    WINDOW
        later AS (PARTITION BY batch_key ORDER BY happened_on
            RANGE BETWEEN INTERVAL 1 DAY FOLLOWING AND UNBOUNDED FOLLOWING),
        upto AS (PARTITION BY batch_key ORDER BY happened_on
            RANGE BETWEEN UNBOUNDED PRECEDING AND CURRENT ROW),
        earlier AS (PARTITION BY batch_key ORDER BY happened_on
            RANGE BETWEEN UNBOUNDED PRECEDING AND INTERVAL 1 DAY PRECEDING)
    QUALIFY event = 'counted' AND amount IS NOT NULL
    ORDER BY counted_on, counted DESC
"""
DEMAND: Final = """
    SELECT stock.stock, t.business_date, CAST(sum(t.amount) AS DOUBLE) AS amount
    FROM stock_taking AS t
    JOIN stock ON stock.name_key = t.item_key AND stock.venue IS NOT DISTINCT FROM t.venue
    JOIN stock_unit AS unit ON unit.name_key = stock.name_key AND unit.base = t.unit
    GROUP BY stock.stock, t.business_date
"""


QUERIES: Final = {
    # Which versions were used follows from batches, whose amounts rest on densities: these rest on the versions meant.
    "version_span": """
    SELECT name_key, spec, version, state, in_service, first_day, last_day
    FROM service_span CROSS JOIN (VALUES ('service'), ('use')) AS states(state)
    ORDER BY ALL
    """,
    # Costs rest on what the house states, not on what is common.
    "known_item": "FROM known_item LIMIT 0",
}
"""What densities read in the place of some views."""


def make_tables(con: duckdb.DuckDBPyConnection, house: House) -> None:
    """Make the tables anew, and fill those that are the same whatever the rows are."""
    import polars as pl

    from stillroom.analysis.specs.ingredients import TAP_WATER
    from stillroom.analysis.specs.liquids import WATER_DENSITY
    from stillroom_schemas.units import conversions

    for name, columns in TABLES.items():
        con.execute(f"CREATE OR REPLACE TABLE {name} ({columns})")
    units = [(unit, base, factor) for unit, (base, factor) in conversions().items()]
    frames.insert(con, "unit", pl.DataFrame(units, schema=["unit", "base", "factor"], orient="row"))
    free = [(name, WATER_DENSITY) for name in sorted(TAP_WATER)]
    frames.insert(con, "free_item", pl.DataFrame(free, schema=["item_key", "density_g_ml"], orient="row"))
    for file in (model.FOLDER / "known_items.csv", *house.common_ingredients):
        con.execute(KNOWN_ITEMS, [str(file)])


def begin(con: duckdb.DuckDBPyConnection, house: House) -> None:
    """Forget what was worked out of earlier rows, and note those that are set aside, and what each is about."""
    con.execute("".join(f"DELETE FROM {table};" for table in FROM_ROWS))
    frames.insert(con, "row_aside", waiting.rows_aside(con, house))
    con.execute("INSERT INTO closed_day SELECT DISTINCT unnest(?::DATE[])", [list(house.closed)])


def densities(con: duckdb.DuckDBPyConnection) -> None:
    """Densities of ingredients and specs, from what is in them: what joins ml and g in the views."""
    for table, frame in density_tables(con).items():
        frames.insert(con, table, frame)


def density_tables(con: duckdb.DuckDBPyConnection) -> dict[str, pl.DataFrame]:
    """The rows of the tables of densities, worked out anew from the rows in force."""
    from stillroom.analysis.specs import composition
    from stillroom.analysis.specs.ingredients import ingredient_densities
    from stillroom.analysis.specs.views import VIEWS

    views = {name: frames.fetch(con, QUERIES.get(name, f"FROM {name} ORDER BY ALL")) for name in VIEWS}
    found = {
        "spec_density": composition.densities(views),
        "ingredient_density": ingredient_densities(views["current_ingredient"]),
    }
    return {table: frame.drop_nulls("density_g_ml") for table, frame in found.items()}


def batch_use(con: duckdb.DuckDBPyConnection) -> bool:
    """How much of each batch was used; a table, since no view can carry what is left from batch to batch quickly.

    Returns:
        whether there is a batch.
    """
    from stillroom.analysis.batches.use import first_made_first_used

    if frames.one_row(con, "SELECT 1 FROM current_batch LIMIT 1") is None:
        return False
    con.execute(f"SET memory_limit = '{MEMORY}'")
    batches = frames.fetch(con, BATCHES)
    frames.insert(
        con, "batch_use", first_made_first_used(batches, frames.fetch(con, COUNTS), frames.fetch(con, DEMAND))
    )
    return True
