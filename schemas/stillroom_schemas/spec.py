"""One row per version of a drink, preparation or garnish."""

from __future__ import annotations

import polars as pl

from stillroom_schemas import fields
from stillroom_schemas.polars_alone import PolarsData, pa

KINDS = ["drink", "preparation", "garnish"]
STORAGES = ["ambient", "fridge", "freezer"]


class Spec(pa.DataFrameModel):
    """A version of a spec: what it is, what one making gives, how long that keeps, when it is in service."""

    spec: str = fields.text("name of the drink, preparation or garnish")
    version: int = fields.integer("version of the spec, from 1", made="the name, or 1", ge=1)
    kind: str = fields.text("drink, preparation or garnish", isin=KINDS)
    yield_amount: float = fields.number(
        "what one making gives: a drink 1 serve, a preparation e.g. 650", unit_in="yield_unit", gt=0
    )
    yield_unit: str = fields.unit("unit of yield_amount")
    keeps_days: float = fields.number("days it keeps; preparations and garnishes", optional=True, gt=0, le=36_500)
    making_minutes: float = fields.number("minutes of work that one making takes", optional=True, ge=0, le=10_000)
    storage: str = fields.text("ambient, fridge or freezer", optional=True, isin=STORAGES)
    method: str = fields.text("how a drink is chilled (built, stirred, shaken, ...), or free text", optional=True)
    dilution_pct: float = fields.number(
        "water that chilling adds, measured, % of the volume before; empty = what is usual for the method",
        optional=True,
        ge=0,
        le=300,
    )
    price: float = fields.exact("menu price of a serve, house currency", optional=True, ge=0)
    in_service_from: pl.Date = fields.day("first day in service", optional=True)
    in_service_until: pl.Date = fields.day("last day in service; empty while it is on", optional=True)
    note: str = fields.text("anything else", optional=True)

    @pa.dataframe_check(error="in_service_until|is before in_service_from")
    def until_not_before_from(cls, data: PolarsData) -> pl.LazyFrame:
        """A span of service ends on or after the day it begins."""
        return data.lazyframe.select(
            (pl.col("in_service_until") >= pl.col("in_service_from")).fill_null(True).alias("in_service_until")
        )
