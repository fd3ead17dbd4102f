"""What no view in SQL can work out well, kept in tables: units, densities, and how much of each batch was used."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from stillroom.store import frames

if TYPE_CHECKING:
    import duckdb

MEMORY: Final = "1GB"
"""What the database may use: five million days of use and a million batches ask for more than taking files in does."""

BATCHES: Final = """
    SELECT b.batch_key, stock.stock, b.made_on,
        least(b.use_by, l.ended_on, DATE '9999-12-31') AS until,
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
    JOIN stock ON stock.name_key = lower(t.preparation) AND stock.venue IS NOT DISTINCT FROM t.venue
    JOIN stock_unit AS unit ON unit.name_key = stock.name_key AND unit.base = t.unit
    GROUP BY stock.stock, t.business_date
"""


def units(con: duckdb.DuckDBPyConnection) -> None:
    """What joins the units of the files to ml, g and each."""
    from stillroom_schemas.units import conversions

    con.execute("DELETE FROM unit")
    con.executemany("INSERT INTO unit VALUES (?, ?, ?)", [[u, base, f] for u, (base, f) in conversions().items()])


def densities(con: duckdb.DuckDBPyConnection) -> None:
    """Densities of ingredients and specs, from what is in them: what joins ml and g in the views."""
    from stillroom.analysis.specs import composition
    from stillroom.analysis.specs.ingredients import ingredient_densities

    specs, lines, ingredients = (
        frames.fetch(con, f"SELECT * FROM current_{name} ORDER BY ALL") for name in ("spec", "spec_line", "ingredient")
    )
    for table, frame in (
        ("spec_density", composition.densities(specs, lines, ingredients)),
        ("ingredient_density", ingredient_densities(ingredients)),
    ):
        con.execute(f"DELETE FROM {table}")
        frames.insert(con, table, frame.drop_nulls("density_g_ml"))


def batch_use(con: duckdb.DuckDBPyConnection) -> None:
    """How much of each batch was used; a table, since no view can carry what is left from batch to batch quickly."""
    from stillroom.analysis.batches.use import first_made_first_used

    con.execute("DELETE FROM batch_use")
    if frames.one_row(con, "SELECT 1 FROM current_batch LIMIT 1") is None:
        return
    con.execute(f"SET memory_limit = '{MEMORY}'")
    batches = frames.fetch(con, BATCHES)
    frames.insert(
        con, "batch_use", first_made_first_used(batches, frames.fetch(con, COUNTS), frames.fetch(con, DEMAND))
    )
