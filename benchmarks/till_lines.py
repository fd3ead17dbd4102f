"""Writes till exports of any size, of an invented house, with some bad lines: a clean one, and one nearer to life."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import polars as pl

BAD_EVERY = 1000
CHUNK = 1_000_000
ITEMS = 120
VENUES = 4
FIRST_SECOND = 1_735_689_600  # 2025-01-01 00:00 UTC

# Of the file nearer to life: of ten thousand lines, how many are so.
QUOTED, ACCENTED, BLANK, BAD = 1300, 800, 1, 7
BAD_CELLS = (("quantity", "two"), ("quantity", "0"), ("net_amount", "n/a"), ("till_item", ""), ("sold_at", "31/02"))
SERVERS = ("Ada", "Bo", "Cleo", "Dov", "Eve")


def write_till_lines(path: Path, rows: int, seed: int = 1) -> None:
    """Write `rows` till lines, oldest first, with line identities; every thousandth has a quantity that is none."""
    _write(path, rows, seed, _clean)


def write_lines_nearer_to_life(path: Path, rows: int, seed: int = 1) -> None:
    """Write `rows` till lines without identities, as tills write them.

    Of 10 000 lines 1 300 have a quoted cell, 800 accents, 1 a cell of blanks, and 7 are bad in one of five ways.
    """
    _write(path, rows, seed, _nearer_to_life)


def _write(
    path: Path, rows: int, seed: int, lines: Callable[[np.random.Generator, pl.DataFrame], pl.DataFrame]
) -> None:
    rng = np.random.default_rng(seed)
    with path.open("wb") as file:
        for start in range(0, rows, CHUNK):
            chunk = lines(rng, _sold(rng, start, min(CHUNK, rows - start), rows))
            chunk.write_csv(file, include_header=start == 0)


def _sold(rng: np.random.Generator, start: int, count: int, rows: int) -> pl.DataFrame:
    """What both have in common: number, sold_at, item, quantity, net_amount, check_id."""
    number = np.arange(start, start + count)
    quantity = rng.integers(1, 5, count)
    price = rng.integers(900, 1600, count) / 100
    # A year of lines, evenly spread: only the counts matter here.
    second = FIRST_SECOND + number * (365 * 86_400 / rows)
    return pl.DataFrame(
        {
            "number": number,
            "sold_at": (second * 1e6).astype(np.int64),
            "item": rng.integers(0, ITEMS, count),
            "quantity": quantity,
            "net_amount": np.round(quantity * price, 2),
        }
    ).with_columns(
        sold_at=pl.col("sold_at").cast(pl.Datetime("us")).dt.strftime("%Y-%m-%d %H:%M:%S"),
        quantity=pl.col("quantity").cast(pl.String),
        check_id=pl.format("C{}", pl.col("number") // 3),
    )


def _clean(rng: np.random.Generator, sold: pl.DataFrame) -> pl.DataFrame:
    bad = pl.col("number") % BAD_EVERY == 1
    return sold.with_columns(venue=pl.Series(rng.integers(0, VENUES, sold.height))).select(
        "sold_at",
        venue=pl.format("Venue {}", "venue"),
        till_item=pl.format("Drink {}", "item"),
        quantity=pl.when(bad).then(pl.lit("two")).otherwise("quantity"),
        net_amount="net_amount",
        check_id="check_id",
        line_id=pl.format("L{}", "number"),
    )


def _nearer_to_life(rng: np.random.Generator, sold: pl.DataFrame) -> pl.DataFrame:
    sold = sold.with_columns(pl.Series("of", rng.integers(0, 10_000, sold.height)))
    kinds = {"Fig & Smoke {}, large": QUOTED, "Crème brûlée sour {}": ACCENTED}
    name, below = pl.format("Drink {}", "item"), 0
    for words, share in kinds.items():
        here = pl.col("of").is_between(below, below + share, closed="left")
        name, below = pl.when(here).then(pl.format(words, "item")).otherwise(name), below + share
    lines = sold.with_columns(
        till_item=name,
        net_amount=pl.col("net_amount").cast(pl.String),
        server=pl.Series(rng.choice(SERVERS, sold.height)),
    )
    blank = pl.col("of").is_between(below, below + BLANK, closed="left")
    lines = lines.with_columns(check_id=pl.when(blank).then(pl.lit("  ")).otherwise("check_id"))
    below += BLANK
    bad = pl.col("of").is_between(below, below + BAD, closed="left")
    for place, (column, cell) in enumerate(BAD_CELLS):
        hit = bad & (pl.col("number") % len(BAD_CELLS) == place)
        lines = lines.with_columns(pl.when(hit).then(pl.lit(cell)).otherwise(column).alias(column))
    return lines.select("sold_at", "till_item", "quantity", "net_amount", "check_id", "server")
