"""How often the keep that spoiled batches bear out is right: simulated bars whose batches' lives are known.

Run as `python -m benchmarks.keeping [--houses N]`; the table is written to docs/simulations.md. A house makes batches
of Weibull, or lognormal, or two kinds of lives; looks at them daily but for one closed day a week; finds what has
spoiled when it looks; and uses up others before. One in ten is gone by a day that is known.
"""

from __future__ import annotations

import argparse
from collections.abc import Callable
from math import floor

import numpy as np

from benchmarks.simulations import keep
from stillroom.analysis.batches.found_spoiled import weibull_gone_by
from stillroom.analysis.batches.kept import CONFIDENCE, GONE, LEAST_SPOILED

Lives = Callable[[np.random.Generator, int], np.ndarray]
SEED = 20260301


def weibull(shape: float, tenth: float) -> Lives:
    """Lives of which one in ten is gone by `tenth`."""
    return lambda generator, count: tenth / (-np.log1p(-GONE)) ** (1 / shape) * generator.weibull(shape, count)


def lognormal(spread: float, tenth: float) -> Lives:
    """The same, lognormal: 1.2816 standard deviations below the middle."""
    return lambda generator, count: tenth * np.exp(spread * (generator.standard_normal(count) + 1.2815515655446004))


def with_bad_ones(part: float, shape: float, tenth: float) -> Lives:
    """Some batches were bad from the start and go within days; the rest are Weibull; of all, one in ten by `tenth`."""

    def lives(generator: np.random.Generator, count: int) -> np.ndarray:
        rest = (GONE - part) / (1 - part)
        good = tenth / (-np.log1p(-rest)) ** (1 / shape) * generator.weibull(shape, count)
        return np.where(generator.random(count) < part, generator.uniform(0, tenth / 2, count), good)

    return lives


KINDS: dict[str, tuple[Callable[[float], Lives], int]] = {
    "Weibull, shape 1.5": (lambda tenth: weibull(1.5, tenth), 14),
    "Weibull, shape 3": (lambda tenth: weibull(3.0, tenth), 14),
    "Weibull, shape 6": (lambda tenth: weibull(6.0, tenth), 14),
    "lognormal, spread 0.4": (lambda tenth: lognormal(0.4, tenth), 14),
    "4 % bad from the start": (lambda tenth: with_bad_ones(0.04, 4.0, tenth), 14),
}


def looked_at(lives: np.ndarray, label: int, generator: np.random.Generator) -> tuple[list[float], list[float]]:
    """The last day each was known to be good, and the day it was found spoiled, if it was."""
    good, found = [], []
    for life in lives:
        closed, end = int(generator.integers(7)), int(generator.integers(label // 2, label + 1))
        looks = [day for day in range(1, end + 1) if day % 7 != closed]
        good.append(float(max((day for day in looks if day < life), default=0)))
        found.append(float(min((day for day in looks if day >= life), default=np.inf)))
    return good, found


def covered(kind: Callable[[float], Lives], label: int, batches: int, houses: int) -> str:
    """A row of the table: of the houses in which enough spoiled, how often the limit, and the keep, held."""
    generator = np.random.default_rng([SEED, batches, label])
    limit, advised, part, told = 0, 0, [], 0
    for _ in range(houses):
        tenth = float(generator.uniform(3, 10))
        good, found = looked_at(kind(tenth)(generator, batches), label, generator)
        if np.isfinite(found).sum() < LEAST_SPOILED:
            continue
        told += 1
        low = weibull_gone_by(good, found, GONE).within(1 - CONFIDENCE)
        keep_days = min(floor(low), label)
        limit, advised = limit + (low <= tenth), advised + (keep_days <= tenth)
        part.append(keep_days / tenth)
    return f"{batches} | {told} | {100 * limit / told:.0f} % | {100 * advised / told:.0f} % | {np.median(part):.2f}"


def main() -> None:
    """Simulate, print, and keep the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--houses", type=int, default=300)
    houses = parser.parse_args().houses
    lines = [
        f"{houses} houses of each kind, labels of 14 days, one in ten gone by a day between 3 and 10. 'Limit': how "
        "often the limit lay below the true day. 'Keep': how often the whole days that are advised did.",
        "",
        "| lives | batches | houses told | limit | keep | keep, part of the true day |",
        "|---|---|---|---|---|---|",
    ]
    for name, (kind, label) in KINDS.items():
        lines += [f"| {name} | {covered(kind, label, batches, houses)} |" for batches in (10, 20, 40)]
    keep("keeping", lines)


if __name__ == "__main__":
    main()
