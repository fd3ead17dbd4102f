"""How often the range of the share of guests who stay holds the truth, and how much drinks that come and go narrow it.

`python -m benchmarks.returning` writes its section of docs/simulations.md; it takes a minute.
"""

from __future__ import annotations

import sys
from datetime import date

import numpy as np

from benchmarks.simulations import keep
from stillroom.analysis.demand.sales_history import History
from stillroom.analysis.next_menu.assumption import Assumption, pooled
from stillroom.analysis.next_menu.returning import return_estimates

HOUSES = 200
WEEKDAYS = np.array([0.0, 0.7, 0.8, 0.9, 1.4, 1.7, 0.5])
SHARES = np.array([12, 11, 10, 9, 8, 8, 7, 6, 6, 5, 3, 2.0])
DAYS = 26 * 7


def house(seed: int, share: float, moves: int, level: float, drift: float) -> History:
    """Half a year in which some drinks are taken off, eight weeks apart; the house drifts by itself."""
    generator = np.random.default_rng(seed)
    weeks = generator.normal(0, drift, DAYS // 7).cumsum()
    days = np.arange(DAYS)
    total = level * WEEKDAYS[days % 7] * np.exp(weeks[days // 7])
    mean = total[:, None] * SHARES / SHARES.sum()
    there = np.ones(mean.shape, dtype=bool)
    for drink in range(moves):
        there[8 * 7 * (drink + 1) - 14 :, drink] = False
    lost = (mean * ~there).sum(axis=1)
    stays = mean * there
    stays += share * lost[:, None] * stays / np.maximum(stays.sum(axis=1, keepdims=True), 1e-9)
    shared = generator.gamma(1 / 0.03, 0.03, size=(DAYS, 1))
    serves = generator.poisson(stays * shared * generator.gamma(1 / 0.02, 0.02, size=stays.shape)).astype(float)
    serves[~there | (WEEKDAYS[days % 7] == 0)[:, None]] = np.nan
    drinks = tuple(f"D{place}" for place in range(len(SHARES)))
    return History(first=date(2026, 1, 5), drinks=drinks, serves=serves, events=(None,) * DAYS)


def ranges(share: float, moves: int, level: float, drift: float) -> list[Assumption]:
    """What the data of many houses leave of the range from 0 to 1."""
    return [pooled(0.0, 1.0, return_estimates(house(seed, share, moves, level, drift))) for seed in range(HOUSES)]


def main() -> None:
    rows = []
    for level, drift in ((80.0, 0.0), (80.0, 0.01), (400.0, 0.01)):
        for moves in (1, 3):
            for share in (0.2, 0.5, 0.8):
                found = ranges(share, moves, level, drift)
                held = np.mean([one.low <= share <= one.high for one in found])
                width = np.mean([one.high - one.low for one in found])
                rows.append(
                    f"| {level:.0f} | {100 * drift:.0f} % | {moves} | {share:g} | {100 * held:.0f} % | {width:.2f} |"
                )
    keep(
        "guests who stay",
        [
            "| serves a day | drift a week | drinks taken off | share who stay | held | mean width of the range |",
            "|---|---|---|---|---|---|",
            *rows,
        ],
    )


if __name__ == "__main__":
    sys.exit(main())
