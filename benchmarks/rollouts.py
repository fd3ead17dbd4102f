"""How often a roll-out is said to have done something where it did nothing, and how often it is seen where it did.

    python -m benchmarks.rollouts

Groups of houses of unlike size, each with its own season, its own drift from week to week and its own trend, in which a
drink's new version comes on a day of its own to each house, and to a quarter of them not at all.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from benchmarks.simulations import keep
from stillroom.analysis.houses.rollout import LEVEL, NEVER, Panel, p_at

ROLLOUTS: Final = 2000
OF_EFFECTS: Final = 500
DEALS: Final = 199
WEEKS: Final = 26
EFFECT: Final = 0.1
WEEKDAYS: Final = np.array([0.6, 0.6, 0.8, 1.0, 1.5, 1.8, 0.9])


@dataclass(frozen=True)
class Kind:
    """What houses are like."""

    trend: float = 0.01
    """Standard deviation of a house's, and of its drink's, own trend a week."""
    season: float = 0.15
    """Swing of a house's own season."""
    drift: float = 0.02
    """Standard deviation of a week's step of the drink's own level."""
    beside: bool = True
    """Whether the house's other drinks are known: its own trend and season are then seen in them."""
    largest_first: bool = False
    """Whether large houses are served before small ones."""


KINDS: Final = {
    "trends and seasons of their own": Kind(),
    "the same, other drinks not known": Kind(beside=False),
    "steady houses": Kind(trend=0.0, season=0.0, drift=0.0),
    "strong trends": Kind(trend=0.03),
    "largest houses first": Kind(largest_first=True),
}


def drawn(rng: np.random.Generator, houses: int, kind: Kind, effect: float) -> Panel:
    """One group: daily counts, overdispersed, summed by week."""
    size = np.exp(rng.normal(np.log(6), 0.8, (houses, 1)))
    day = np.arange(7 * WEEKS)
    week = np.exp(rng.normal(0, kind.trend, (houses, 1)) * day / 7)
    week = week * (1 + kind.season * np.sin(2 * np.pi * (day / 180 + rng.uniform(size=(houses, 1)))))
    steps = np.cumsum(rng.normal(0, kind.drift, (houses, WEEKS)), axis=1).repeat(7, axis=1)
    own = np.exp(rng.normal(0, kind.trend, (houses, 1)) * day / 7 + steps)
    came = rng.integers(6 * 7, 22 * 7, houses)
    came[rng.uniform(size=houses) < 0.25] = 7 * NEVER
    if kind.largest_first:
        came = np.sort(came)[np.argsort(np.argsort(-size[:, 0]))]
    usual = size * week * WEEKDAYS[day % 7]
    mean = usual * own * np.where(day >= came[:, None], 1 + effect, 1.0)
    others = usual * rng.uniform(6, 14, (houses, 1))
    counts = rng.negative_binomial(8, 8 / (8 + mean))
    beside = rng.negative_binomial(20, 20 / (20 + others)) if kind.beside else np.full_like(counts, 1)
    by_week = (one.reshape(houses, WEEKS, 7).sum(axis=2).astype(float) for one in (counts, beside))
    weekly, known = by_week
    return Panel(counts=weekly, exposure=known, served=np.minimum(came // 7, NEVER))


def told(houses: int, kind: Kind, effect: float, supposed: float, groups: int, seed: int = 1) -> float:
    """Part of the groups in which a supposed effect is refused."""
    rng = np.random.default_rng([seed, houses, list(KINDS.values()).index(kind), round(1000 * effect)])
    refused = [p_at(drawn(rng, houses, kind, effect), np.log1p(supposed), DEALS) <= LEVEL for _ in range(groups)]
    return float(np.mean(refused))


def main() -> None:
    """Run all, and keep the figures."""
    lines = [
        "| houses | what they are like | nothing done: told something | 10 % more: told | within the interval |",
        "|---:|---|---:|---:|---:|",
    ]
    for houses in (12, 50):
        for name, kind in KINDS.items():
            false = told(houses, kind, 0.0, 0.0, ROLLOUTS)
            seen = told(houses, kind, EFFECT, 0.0, OF_EFFECTS)
            held = 1 - told(houses, kind, EFFECT, EFFECT, OF_EFFECTS)
            lines.append(f"| {houses} | {name} | {100 * false:.1f} % | {100 * seen:.0f} % | {100 * held:.1f} % |")
            print(lines[-1], flush=True)
    keep("roll-outs", lines)


if __name__ == "__main__":
    main()
