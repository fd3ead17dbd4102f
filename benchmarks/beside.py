"""How often a house is named for lying outside its group where none does, and how often its pooled interval is right.

    python -m benchmarks.beside

Groups of houses from three units each to a hundred and twenty: batches of which some are lost, in part or wholly and
several in a bad spell, and weeks in which a drink's share of the serves moves beyond chance.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

import numpy as np
import polars as pl

from benchmarks.simulations import keep
from stillroom.analysis.houses.funnel import Side, funnel, outside
from stillroom.analysis.houses.pooling import Pooled, side_by_side
from stillroom.analysis.houses.scatter import summed

GROUPS: Final = 400
UNLIKE: Final = 0.4
"""Share of a house that is unlike the rest, where there is one; the others' are 0.09 in the mean."""


@dataclass(frozen=True)
class Found:
    """Parts of all groups, and of all houses."""

    named: float
    """Groups in which any house was named though none was unlike."""
    lowest: float
    """Groups in which the house with the largest share is one of the smaller half: it would lead a plain league."""
    seen: float
    """Groups in which the unlike house was named."""
    held: float
    """Houses whose pooled interval held their true share."""


def alike(rng: np.random.Generator, houses: int) -> np.ndarray:
    return np.full(houses, 0.09)


def unlike(rng: np.random.Generator, houses: int) -> np.ndarray:
    return rng.beta(3, 30, houses)


def batches(rng: np.random.Generator, truth: float, units: int) -> pl.DataFrame:
    """Weeks of three batches that share a chance to lose something; half of those lose all, the rest a part."""
    weeks = -(-units // 3)
    chance = rng.beta(8 * truth, 8 * (1 - truth), weeks).repeat(3)[:units]
    size = rng.gamma(4, 250, units)
    part = np.where(rng.uniform(size=units) < 0.5, 1.0, rng.uniform(size=units))
    lost = (rng.uniform(size=units) < np.minimum(1, chance / 0.75)) * size * part
    week = np.arange(units) // 3
    return pl.DataFrame({"week": week, "part": lost, "whole": size}).group_by("week").sum()


def serves(rng: np.random.Generator, truth: float, units: int) -> pl.DataFrame:
    """Thirteen weeks of a house that sells some ten serves a day for each unit."""
    whole = rng.poisson(rng.gamma(10, 3 * units, 13)) + 1
    part = rng.binomial(whole, rng.beta(60 * truth, 60 * (1 - truth), 13))
    return pl.DataFrame({"part": part, "whole": whole}).cast(pl.Float64)


Truths = Callable[[np.random.Generator, int], np.ndarray]
Units = Callable[[np.random.Generator, float, int], pl.DataFrame]


def found(houses: int, truths: Truths, units: Units, groups: int, seed: int = 1) -> Found:
    """Draw groups, and look at each without an unlike house and with one."""
    rng = np.random.default_rng([seed, houses])
    named = lowest = seen = held = 0
    for _ in range(groups):
        truth = truths(rng, houses)
        sizes = np.exp(rng.uniform(np.log(3), np.log(120), houses)).astype(int)
        rows, pooled, names = _looked_at(rng, truth, sizes, units)
        named += any(names)
        lowest += int(sizes[int(rows["share"].arg_max() or 0)] < np.median(sizes))
        held += int(((pooled.low <= truth) & (truth <= pooled.high)).sum())
        truth[-1], sizes[-1] = UNLIKE, 60
        seen += _looked_at(rng, truth, sizes, units)[2][-1] == "above"
    return Found(named / groups, lowest / groups, seen / groups, held / groups / houses)


def _looked_at(
    rng: np.random.Generator, truth: np.ndarray, sizes: np.ndarray, units: Units
) -> tuple[pl.DataFrame, Pooled, list[Side]]:
    drawn = [
        units(rng, one, many).with_columns(house=pl.lit(f"{at:04}"))
        for at, (one, many) in enumerate(zip(truth, sizes, strict=True))
    ]
    rows, pooled = side_by_side(summed(pl.concat(drawn)))
    share, worth = rows["share"].to_numpy(), rows["worth"].to_numpy()
    of = funnel(share, worth)
    assert of is not None
    return rows, pooled, outside(share, worth, of)


def main() -> None:
    """Run all, and keep the figures."""
    lines = [
        "| houses | they are | figure | a house named, none unlike | small house on top of a plain league "
        "| unlike house named | pooled interval right |",
        "|---:|---|---|---:|---:|---:|---:|",
    ]
    for houses in (12, 50, 200):
        for truths in (alike, unlike):
            for units in (batches, serves):
                one = found(houses, truths, units, GROUPS if houses < 200 else GROUPS // 4)
                shares = " | ".join(f"{100 * x:.1f} %" for x in (one.named, one.lowest, one.seen, one.held))
                lines.append(f"| {houses} | {truths.__name__} | {units.__name__} | {shares} |")
                print(lines[-1], flush=True)
    keep("houses beside each other", lines)


if __name__ == "__main__":
    main()
