"""What the store derives from the rows in force: the till roll-up, the views in SQL, and what Python works out."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING, Final

from stillroom import __version__
from stillroom.house.house import House
from stillroom.store import worked_out
from stillroom.store.transaction import transaction
from stillroom_schemas.table import Table

if TYPE_CHECKING:
    import duckdb

VIEW_FOLDER: Final = Path(__file__).parent.parent / "views"
ROLL_UP: Final = "till_day"
VIEWS: Final = (
    "spelling",
    "service_span",
    "version_on_day",
    "till_meaning",
    "drink_sale",
    "daily_serves",
    "unmatched_sales",
    "unmatched_days",
    "other_sales",
    "last_day",
    "spec_unit",
    "spec_item",
    "spec_parts",
    "price_span",
    "spec_cost",
    "stock_unit",
    "batch_made",
    "batch_happening",
    "batch_loss",
    "stock",
    "stock_taking",
    "preparation_use",
    "batch_fate",
    "panel_scores",
)
"""In the order in which they are made: each reads only those before it, tables, and `current_` views."""

STALE: Final = ""
"""What a store is made for while its derived tables wait to be worked out again."""


def fingerprint(house: House, tables: Iterable[Table]) -> str:
    """What the derived part depends on besides the rows; the same text means it need not be made again."""
    parts = [__version__, str(house.day_starts_minutes), house.time_zone, *sorted(table.name for table in tables)]
    parts += [(VIEW_FOLDER / f"{name}.sql").read_text(encoding="utf-8") for name in (ROLL_UP, *VIEWS)]
    return hashlib.sha256("\n".join(parts).encode()).hexdigest()


def make_derived(con: duckdb.DuckDBPyConnection, house: House, tables: Iterable[Table]) -> None:
    """Work out all that is derived, in one transaction, and note what it was made for."""
    tables = list(tables)
    with transaction(con):
        worked_out.units(con)
        for table in tables:
            con.execute(
                f'CREATE OR REPLACE VIEW "current_{table.name}" AS '
                f'SELECT * EXCLUDE (superseded_by) FROM "{table.name}" WHERE superseded_by IS NULL'
            )
        worked_out.densities(con)
        con.execute(f"CREATE OR REPLACE TABLE {ROLL_UP} AS {_sql(ROLL_UP, house)}")
        for name in VIEWS:
            con.execute(f"CREATE OR REPLACE VIEW {name} AS {_sql(name, house)}")
        worked_out.batch_use(con)
        con.execute("UPDATE stillroom_store SET made_for = ?", [fingerprint(house, tables)])


def _sql(name: str, house: House) -> str:
    text = (VIEW_FOLDER / f"{name}.sql").read_text(encoding="utf-8")
    return text.replace("{day_starts_minutes}", str(house.day_starts_minutes))
