"""Writes the store of a large invented house: many venues and preparations, years of sales, batches with events."""

from __future__ import annotations

from datetime import date, time
from pathlib import Path

import numpy as np
import polars as pl

from stillroom.house.house import House
from stillroom.store import frames, opening
from stillroom_schemas import TABLES

FIRST = date(2023, 1, 1)
EVERY_DAYS = 4
KEEPS_DAYS = 7


def house_in(folder: Path, venues: int) -> House:
    """The house whose store it is."""
    names = tuple(f"v{n}" for n in range(venues))
    return House(folder=folder, name="Bench", currency="EUR", day_starts_at=time(6), venues=names)


def write_store(house: House, preparations: int, days: int, seed: int = 1) -> int:
    """Every preparation in every venue: sold daily in a drink of its own, made every fourth day. How many batches."""
    rng = np.random.default_rng(seed)
    names = pl.DataFrame({"preparation": [f"p{n}" for n in range(preparations)]})
    places = pl.DataFrame({"venue": house.venues}).join(names, how="cross")
    batches = _batches(rng, places, days)
    with opening.writing(house, TABLES) as con:
        for table, rows in (
            ("spec", _specs(names)),
            ("spec_line", _lines(names)),
            ("sale", _sales(rng, places, days)),
            ("batch", batches),
            ("batch_event", _events(rng, batches)),
        ):
            frames.insert(con, table, rows.with_row_index("row_number", 2), intake_id=1, file="bench")
    return batches.height


def _specs(names: pl.DataFrame) -> pl.DataFrame:
    made = names.select(
        spec="preparation", kind=pl.lit("preparation"), yield_amount=pl.lit(100.0), yield_unit=pl.lit("ml")
    )
    sold = names.select(
        spec="drink " + pl.col("preparation"),
        kind=pl.lit("drink"),
        yield_amount=pl.lit(1.0),
        yield_unit=pl.lit("serve"),
    )
    return pl.concat([made, sold]).with_columns(version=1)


def _lines(names: pl.DataFrame) -> pl.DataFrame:
    return names.select(
        spec="drink " + pl.col("preparation"),
        version=1,
        line=1,
        item="preparation",
        amount=pl.lit(1.0),
        unit=pl.lit("ml"),
    )


def _days(places: pl.DataFrame, days: int, every: int) -> pl.DataFrame:
    last = pl.date(FIRST.year, FIRST.month, FIRST.day) + pl.duration(days=days - 1)
    every_day = pl.select(day=pl.date_range(FIRST, last, interval=f"{every}d"))
    return places.join(every_day, how="cross")


def _sales(rng: np.random.Generator, places: pl.DataFrame, days: int) -> pl.DataFrame:
    sold = _days(places, days, 1)
    return sold.select(
        sold_at=pl.col("day").dt.combine(time(20)),
        venue="venue",
        till_item="drink " + pl.col("preparation"),
        quantity=pl.Series(rng.integers(5, 15, sold.height)),
        net_amount=pl.lit(1),
    )


def _batches(rng: np.random.Generator, places: pl.DataFrame, days: int) -> pl.DataFrame:
    made = _days(places, days, EVERY_DAYS)
    return made.select(
        batch=pl.concat_str("venue", "preparation", "day", separator="-"),
        preparation="preparation",
        venue="venue",
        made_on="day",
        made_amount=pl.Series(rng.integers(40, 60, made.height)),
        made_unit=pl.lit("ml"),
        use_by=pl.col("day") + pl.duration(days=KEEPS_DAYS),
    )


def _events(rng: np.random.Generator, batches: pl.DataFrame) -> pl.DataFrame:
    """One batch in five is counted, one in ten is poured away."""
    drawn = pl.Series(rng.random(batches.height))
    counted = batches.filter(drawn < 0.2).select(
        batch="batch",
        happened_on=pl.col("made_on") + pl.duration(days=3),
        event=pl.lit("counted"),
        amount=pl.lit(5.0),
        unit=pl.lit("ml"),
    )
    poured = batches.filter(drawn > 0.9).select(
        batch="batch",
        happened_on=pl.col("made_on") + pl.duration(days=6),
        event=pl.lit("poured away"),
        amount=pl.lit(None, dtype=pl.Float64),
        unit=pl.lit(None, dtype=pl.String),
    )
    return pl.concat([counted, poured])
