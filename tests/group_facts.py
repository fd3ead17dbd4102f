"""Facts of an invented group, made as frames and read by DuckDB as Spark would read them."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta

import duckdb
import numpy as np
import polars as pl

from stillroom.group import facts
from stillroom.store.frames import fetch

FIRST = date(2026, 1, 5)
WEEKS = 20
DRINKS = ("Slack Water", "Old Ballast", "Fig Sour", "Hay Flip")
PREPARATIONS = ("Fig cordial", "Hay cream")


def asked(frames: dict[str, pl.DataFrame]) -> Callable[[str], pl.DataFrame]:
    """Answers statements on frames, through sqlglot as `reading.rolled_by_duckdb` does."""
    import sqlglot

    con = duckdb.connect()
    for name in facts.COLUMNS:
        frame = frames.get(name, pl.DataFrame(schema=facts.schema(name)))
        con.register(name, frame.select(pl.col(n).cast(t) for n, t in facts.schema(name).items()).to_arrow())
    return lambda statement: fetch(con, sqlglot.parse_one(statement, read="spark").sql(dialect="duckdb"))


def group(houses: int = 12, seed: int = 1, gain: float = 0.3) -> dict[str, pl.DataFrame]:
    """Houses of unlike size: one wastes four times as much as the rest, one has books in doubt, one has a drink alone.

    Version 2 of Slack Water comes to nine houses, one a week from the seventh on, and sells `gain` more; panels of four
    houses like it half a point more.
    """
    rng = np.random.default_rng(seed)
    names = [f"Pier {at:02}" for at in range(1, houses + 1)]
    size = np.exp(rng.normal(np.log(20), 0.6, houses))
    came = [6 + at if at < houses * 3 // 4 else None for at in range(houses)]
    order = rng.permutation(houses)
    tables: dict[str, list[tuple[object, ...]]] = {name: [] for name in facts.COLUMNS}
    """Rows whose cells stand in the order of `facts.COLUMNS`, house and run before them."""
    for at, house in enumerate(names):
        key = (house, "r1")
        sold = [*DRINKS, *(["Tomato Leaf Fizz"] if at == 2 else [])]
        for day in range(7 * WEEKS):
            on = FIRST + timedelta(days=day)
            tables["open_days"].append((*key, on, True, not (at == 5 and day % 4 == 0)))
            if at == 5 and day % 4 == 0:
                continue
            for place, drink in enumerate(sold):
                if drink == "Hay Flip" and at == 3:
                    continue
                week = came[order[at]]
                new = drink == "Slack Water" and week is not None and day >= 7 * week + 2
                mean = size[at] / (1 + place) * (1 + gain * new)
                serves = float(rng.negative_binomial(10, 10 / (10 + mean)))
                spelt = drink.upper() if at == 4 else drink
                sold_as = (spelt, drink.lower(), 2 if new else 1)
                tables["daily_serves"].append((*key, on, *sold_as, serves, 12 * serves, 12.0))
        for week in range(WEEKS):
            for preparation in PREPARATIONS:
                batches = max(1, int(size[at] / 10))
                share = 0.45 if at == 1 and preparation == "Fig cordial" else 0.1
                lost = 1000.0 * rng.binomial(batches, share)
                unexplained = 300.0 * batches if at == 6 else 0.0
                made = 1000.0 * batches
                of = (FIRST + timedelta(weeks=week), preparation, preparation.lower(), 1, batches, "ml")
                gone = (max(0.0, made - lost - unexplained), lost, min(unexplained, made - lost))
                tables["preparation_use"].append((*key, *of, made, *gone, 0.01 * made, 0.01 * lost))
        if at < 4:
            for panelist in range(8):
                level = rng.normal(6, 1)
                for version in (1, 2):
                    score = level + 0.8 * (version == 2) + rng.normal(0, 0.5)
                    asked_of = ("Slack Water", "slack water", version, 1, FIRST, panelist, "liking")
                    tables["panel_scores"].append((*key, *asked_of, score, 1.0, 9.0, "liking", 1, 1))
        state = ("failed", "no-sales") if at == 7 else ("landed", None)
        days = (FIRST, FIRST + timedelta(days=7 * WEEKS - 1))
        tables["houses"].append((house, "r1", *state, *days, 1000, 990, 8, 2, "0", None))
    return {name: pl.DataFrame(rows, schema=facts.schema(name), orient="row") for name, rows in tables.items()}
