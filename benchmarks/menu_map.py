"""How often the menu map is sure of what is not so, and how often it sees what is.

    python -m benchmarks.menu_map

Houses of ten drinks; one of them is on the menu for the last 3 to 90 days of the season. It sells exactly what the mark
asks, or 30 % more or less; guests' orders vary from day to day, for the house and for each drink. In the same houses
its contribution is exactly the average, or 30 % above.
"""

from __future__ import annotations

import sys
from datetime import date, timedelta
from typing import Final

import numpy as np
import polars as pl

from benchmarks.simulations import keep
from stillroom.analysis.intervals import share_interval
from stillroom.analysis.menu.days import days_on_menu, menu_spans
from stillroom.analysis.menu.earnings import earnings
from stillroom.analysis.menu.season import placed_drinks

FIRST: Final = date(2026, 9, 1)
SEASON: Final = 90
DRINKS: Final = 10
DAYS: Final = (3, 14, 30, 90)
WEEKDAYS: Final = np.array([0.6, 0.7, 0.8, 0.95, 1.35, 1.6, 1.0])
REPLICATES: Final = 200
KINDS: Final = {  # serves a day of the average drink; squared coefficients of variation: house, drink's day, its week
    "chance alone": (7.0, 0.0, 0.0, 0.0),
    "busy evenings": (7.0, 0.1, 0.07, 0.0),
    "rounds of one drink": (7.0, 0.05, 0.25, 0.0),
    "weeks that differ": (7.0, 0.05, 0.05, 0.02),
    "few serves": (2.0, 0.05, 0.1, 0.0),
}
PRICE: Final = 10.0


def season(kind: str, days: int, times: float, seed: int) -> tuple[pl.DataFrame, pl.DataFrame, pl.DataFrame]:
    """Daily serves, specs and costs of a house; the first drink sells `times` what the mark asks.

    Its contribution is the average that the house's mean serves have; the others' go from 5 to 9.
    """
    generator = np.random.default_rng([list(KINDS).index(kind), days, seed])
    usual, house, own, week = KINDS[kind]
    level = usual * np.exp(generator.normal(0, 0.3, DRINKS))
    # At the mark: serves a day are 70 % of an equal share of what all drinks sell a day, itself included.
    part = 0.7 / DRINKS * times
    level[0] = part / (1 - part) * level[1:].sum()
    number = np.arange(SEASON)
    mean = level * WEEKDAYS[(number + FIRST.weekday()) % 7][:, None] * _luck(generator, house, (SEASON, 1))
    mean = mean * _luck(generator, own, mean.shape)
    mean = mean * _luck(generator, week, (SEASON // 7 + 1, DRINKS))[number // 7]
    mean[: SEASON - days, 0] = 0
    serves = generator.poisson(mean)
    left = np.append(0.0, np.linspace(5, 9, DRINKS - 1))
    expected = level[1:].sum()
    left[0] = float((left[1:] * level[1:]).sum() / expected)
    rows = [
        ("bar", FIRST + timedelta(days=int(day)), f"Drink {drink}", 1, float(sold), float(sold) * PRICE)
        for (day, drink), sold in np.ndenumerate(serves)
        if sold
    ]
    daily = pl.DataFrame(
        rows,
        schema={"venue": pl.String, "business_date": pl.Date, "spec": pl.String}
        | {"version": pl.Int64, "serves": pl.Float64, "net_amount": pl.Float64},
        orient="row",
    )
    begins = [FIRST + timedelta(days=SEASON - days)] + [FIRST] * (DRINKS - 1)
    spec = pl.DataFrame(
        [(f"Drink {drink}", "drink", begins[drink], None) for drink in range(DRINKS)],
        schema={"spec": pl.String, "kind": pl.String, "in_service_from": pl.Date, "in_service_until": pl.Date},
        orient="row",
    )
    cost = pl.DataFrame(
        [(f"Drink {drink}", 1, FIRST, PRICE - left[drink], PRICE - left[drink], None) for drink in range(DRINKS)],
        schema={"spec": pl.String, "version": pl.Int64, "priced_from": pl.Date}
        | {"cost": pl.Float64, "cost_known": pl.Float64, "missing": pl.String},
        orient="row",
    )
    return daily, spec, cost


def _luck(generator: np.random.Generator, variance: float, shape: tuple[int, ...]) -> np.ndarray:
    return generator.gamma(1 / variance, variance, size=shape) if variance else np.ones(shape)


def sure(kind: str, days: int, times: float, replicates: int = REPLICATES) -> tuple[float, float, float]:
    """Shares of houses in which the first drink's place is sure: in what it sells, in what it earns, and how it was
    when the whole season's serves stood for its sample (Wilson's interval)."""
    found = []
    for seed in range(replicates):
        daily, spec, cost = season(kind, days, times, seed)
        spans = menu_spans(spec, daily, FIRST, FIRST + timedelta(days=SEASON - 1))
        drinks = placed_drinks(spans, days_on_menu(spans, daily), daily, earnings(daily, cost))
        row = drinks.filter(pl.col("spec") == "Drink 0").row(0, named=True)
        total = round(drinks["sold"].sum())
        low, high = share_interval(round(row["daily_share"] * total), total)
        found.append((row["mark_clear"], row["earns_clear"], not low <= row["share_mark"] <= high))
    return tuple(float(share) for share in np.mean(found, axis=0))  # type: ignore[return-value]


def main() -> None:
    """Run all, and keep the figures."""
    heads = (
        "days on the menu",
        "at the mark",
        "30 % above",
        "30 % below",
        "earns the average",
        "by the season's sample",
    )
    lines = [f"| house | {' | '.join(heads)} |", "|---" + "|---:" * len(heads) + "|"]
    for kind in KINDS:
        for days in DAYS:
            at, above, below = (sure(kind, days, times) for times in (1.0, 1.3, 0.7))
            shares = (at[0], above[0], below[0], at[1], at[2])
            lines.append(f"| {kind} | {days} | " + " | ".join(f"{100 * share:.1f} %" for share in shares) + " |")
        print(f"{kind}: done", file=sys.stderr, flush=True)
    keep("menu map", lines)


if __name__ == "__main__":
    main()
