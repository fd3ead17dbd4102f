"""Writes till exports of any size: valid lines of an invented house, one in a thousand of them bad."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import polars as pl

HEADINGS = "sold_at,venue,till_item,quantity,net_amount,check_id,line_id"
BAD_EVERY = 1000
CHUNK = 1_000_000
ITEMS = 120
VENUES = 4
FIRST_SECOND = 1_767_225_600  # 2026-01-01 00:00 UTC


def write_till_lines(path: Path, rows: int, seed: int = 1) -> None:
    """Write `rows` till lines, oldest first, with line identities; every thousandth has a quantity that is none."""
    rng = np.random.default_rng(seed)
    with path.open("wb") as file:
        file.write(HEADINGS.encode() + b"\n")
        for start in range(0, rows, CHUNK):
            count = min(CHUNK, rows - start)
            _chunk(rng, start, count, rows).write_csv(file, include_header=False)


def _chunk(rng: np.random.Generator, start: int, count: int, rows: int) -> pl.DataFrame:
    number = np.arange(start, start + count)
    quantity = rng.integers(1, 5, count)
    price = rng.integers(900, 1600, count) / 100
    # A year of lines, evenly spread: only the counts matter here.
    second = FIRST_SECOND + number * (365 * 86_400 / rows)
    return pl.DataFrame(
        {
            "sold_at": (second * 1e6).astype(np.int64),
            "venue": rng.integers(0, VENUES, count),
            "item": rng.integers(0, ITEMS, count),
            "quantity": quantity,
            "net_amount": np.round(quantity * price, 2),
            "number": number,
        }
    ).select(
        sold_at=pl.col("sold_at").cast(pl.Datetime("us")).dt.strftime("%Y-%m-%d %H:%M:%S"),
        venue=pl.format("Venue {}", "venue"),
        till_item=pl.format("Drink {}", "item"),
        quantity=pl.when(pl.col("number") % BAD_EVERY == 1)
        .then(pl.lit("two"))
        .otherwise(pl.col("quantity").cast(pl.String)),
        net_amount="net_amount",
        check_id=pl.format("C{}", pl.col("number") // 3),
        line_id=pl.format("L{}", "number"),
    )
