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
USUAL: Final = 5
"""Kinds that are run in full, with 12 houses and with 50; of the others half as many, with 12."""
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
    serves: float = 6
    """Of the drink on a day, in the middle house."""
    swing: float = 0.0
    """Of the drink alone, in all houses together."""
    moods: float = 0.0
    """Standard deviation of the drink's own good and bad weeks, which last (a month later a quarter is left)."""
    never: float = 0.25
    """Part of the houses that the version does not come to."""
    waves: int = 0
    """Days on which it comes to several houses at once; 0: a day of its own to each."""
    gaps: float = 0.0
    """Part of the weeks of a house that are missing; as many houses open, or close, in between."""
    without: float = 0.0
    """Part of the houses that take the drink off at some time, or put it on."""
    grows: bool = False
    """Whether what it does grows over eight weeks, to twice as much as is told."""
    largest_first: bool = False
    """Whether large houses are served before small ones."""


KINDS: Final = {
    "trends and seasons of their own": Kind(),
    "the same, other drinks not known": Kind(beside=False),
    "steady houses": Kind(trend=0.0, season=0.0, drift=0.0),
    "strong trends": Kind(trend=0.03),
    "largest houses first": Kind(largest_first=True),
    "a swing of the drink in all houses": Kind(swing=0.4),
    "good and bad months": Kind(moods=0.15),
    "one serve a day": Kind(serves=1),
    "weeks missing, houses open and close": Kind(gaps=0.15),
    "the drink taken off, or put on, in between": Kind(without=0.3),
    "every house gets it in the end": Kind(never=0.0),
    "in two waves": Kind(waves=2),
    "what it does grows": Kind(grows=True),
}


def drawn(rng: np.random.Generator, houses: int, kind: Kind, effect: float) -> Panel:
    """One group: daily counts, overdispersed, summed by week."""
    size = np.exp(rng.normal(np.log(kind.serves), 0.8, (houses, 1)))
    day = np.arange(7 * WEEKS)
    week = np.exp(rng.normal(0, kind.trend, (houses, 1)) * day / 7)
    week = week * (1 + kind.season * np.sin(2 * np.pi * (day / 180 + rng.uniform(size=(houses, 1)))))
    steps = np.cumsum(rng.normal(0, kind.drift, (houses, WEEKS)), axis=1).repeat(7, axis=1)
    trend = rng.normal(0, kind.trend, (houses, 1))
    came = rng.integers(6 * 7, 22 * 7, houses)
    came[rng.uniform(size=houses) < kind.never] = 7 * NEVER
    if kind.waves:
        came[came < 7 * NEVER] = rng.choice(rng.integers(6 * 7, 22 * 7, kind.waves), (came < 7 * NEVER).sum())
    moods = _moods(rng, houses, kind.moods)
    if kind.largest_first:
        came = np.sort(came)[np.argsort(np.argsort(-size[:, 0]))]
    own = np.exp(trend * day / 7 + steps + moods.repeat(7, axis=1)) * (1 + kind.swing * np.sin(2 * np.pi * day / 90))
    since = np.clip((day - came[:, None]) / 56, 0, 1)
    does = 1 + effect * (2 * since if kind.grows else since >= 0)
    usual = size * week * WEEKDAYS[day % 7]
    mean = usual * own * np.where(day >= came[:, None], does, 1.0)
    others = usual * rng.uniform(6, 14, (houses, 1))
    counts = rng.negative_binomial(8, 8 / (8 + mean))
    beside = rng.negative_binomial(20, 20 / (20 + others)) if kind.beside else np.full_like(counts, 1)
    weekly, known = (one.reshape(houses, WEEKS, 7).sum(axis=2).astype(float) for one in (counts, beside))
    seen = _seen(rng, houses, kind)
    return Panel(counts=weekly * seen, exposure=known * seen, served=np.minimum(came // 7, NEVER))


def _moods(rng: np.random.Generator, houses: int, spread: float) -> np.ndarray:
    """Good and bad weeks that last: what is left from one to the next is 0.7."""
    found = np.zeros((houses, WEEKS))
    found[:, 0] = rng.normal(0, spread, houses)
    for at in range(1, WEEKS):
        found[:, at] = 0.7 * found[:, at - 1] + rng.normal(0, spread * np.sqrt(1 - 0.49), houses)
    return found


def _seen(rng: np.random.Generator, houses: int, kind: Kind) -> np.ndarray:
    """The weeks of which anything is known; the drink's own are the same to the method as the house's."""
    at = np.arange(WEEKS)
    seen = rng.uniform(size=(houses, WEEKS)) >= kind.gaps
    part = kind.gaps + kind.without
    opens = np.where(rng.uniform(size=houses) < part / 2, rng.integers(0, 12, houses), 0)
    closes = np.where(rng.uniform(size=houses) < part / 2, rng.integers(14, WEEKS, houses), WEEKS)
    return np.asarray(seen & (at >= opens[:, None]) & (at < closes[:, None]))


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
    usual, others = list(KINDS.items())[:USUAL], list(KINDS.items())[USUAL:]
    for houses, kinds, parts in ((12, usual, 1), (50, usual, 1), (12, others, 2)):
        for name, kind in kinds:
            false = told(houses, kind, 0.0, 0.0, ROLLOUTS // parts)
            seen = told(houses, kind, EFFECT, 0.0, OF_EFFECTS // parts)
            held = 1 - told(houses, kind, EFFECT, EFFECT, OF_EFFECTS // parts)
            lines.append(f"| {houses} | {name} | {100 * false:.1f} % | {100 * seen:.0f} % | {100 * held:.1f} % |")
            print(lines[-1], flush=True)
    keep("roll-outs", lines)


if __name__ == "__main__":
    main()
