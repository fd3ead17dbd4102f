"""How often a level is told to step or slope, and how often a step or slope is told as what it is.

    python -m benchmarks.step_or_slope

Measured batches (normal, heavy-tailed and rounded values) and weekly sales (overdispersed counts in weeks of unlike
length), with and without a change that is known, such as a new version.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

import numpy as np

from benchmarks.simulations import keep
from stillroom.analysis.course import LEVEL, course
from stillroom.analysis.holm import holm
from stillroom.analysis.menu.trend import usual_scatter, weekly_trend

REPLICATES: Final = 500
Draw = Callable[[np.random.Generator, int], np.ndarray]
BATCHES: Final[dict[str, Draw]] = {
    "normal": lambda generator, n: generator.normal(0, 1, n),
    "heavy tails (t on 3 degrees)": lambda generator, n: generator.standard_t(3, n),
    "rounded to half a standard deviation": lambda generator, n: np.round(2 * generator.normal(0, 1, n)) / 2,
}
SHAPES: Final[dict[str, Callable[[np.ndarray], np.ndarray]]] = {
    "level": lambda x: 0.0 * x,
    "step of 3 sd in the middle": lambda x: 3.0 * (x >= len(x) // 2),
    "step of 3 sd, five values ago": lambda x: 3.0 * (x >= len(x) - 5),
    "there and back, 3 sd": lambda x: 3.0 * ((x >= len(x) // 3) & (x < 2 * len(x) // 3)),
    "slope of 4 sd in all": lambda x: 4.0 * x / len(x),
}


def of_batches(shape: str, draw: Draw, n: int, known: bool, replicates: int = REPLICATES) -> dict[str, float]:
    """How often each kind is told of a series of measurements."""
    generator = np.random.default_rng([list(SHAPES).index(shape), n, known])
    x = np.arange(n)
    told = [
        course(SHAPES[shape](x) + draw(generator, n), known=(n // 2,) if known else ()).told().kind
        for _ in range(replicates)
    ]
    return {kind: told.count(kind) / replicates for kind in ("level", "step", "slope")}


def of_weeks(weeks: int, usual: float, known: bool, replicates: int = REPLICATES) -> dict[str, float]:
    """How often each kind is told of weekly sales that keep their level."""
    generator = np.random.default_rng([weeks, int(usual), known])
    told = []
    for _ in range(replicates):
        days = generator.integers(4, 7, weeks).astype(float)
        mean = usual * days / 6
        counts = generator.negative_binomial(15, 15 / (15 + mean))
        trend = weekly_trend(range(weeks), counts.tolist(), days.tolist(), known=[weeks / 2] if known else [])
        told.append(trend.kind if trend.p_value is not None and trend.p_value < LEVEL else "level")
    return {kind: told.count(kind) / replicates for kind in ("level", "step", "slope")}


def of_houses(weeks: int, usual: float, houses: int = REPLICATES // 5) -> dict[str, float]:
    """How often each kind is told of the weekly sales of twelve drinks, all at their level and unlike in their spread.

    Told as the season report tells it: by what the drinks usually vary, and adjusted for their number.
    """
    generator = np.random.default_rng([weeks, int(usual), 2])
    told = []
    exposure = [6.0] * weeks
    for _ in range(houses):
        sizes = np.exp(generator.uniform(np.log(4), np.log(100), 12))
        counts = [generator.negative_binomial(size, size / (size + usual), weeks).tolist() for size in sizes]
        scatter = usual_scatter([(one, exposure) for one in counts])
        trends = [weekly_trend(range(weeks), one, exposure, usual=scatter) for one in counts]
        adjusted = holm([1.0 if trend.p_value is None else trend.p_value for trend in trends])
        told += [trend.kind if p < LEVEL else "level" for trend, p in zip(trends, adjusted, strict=True)]
    return {kind: told.count(kind) / len(told) for kind in ("level", "step", "slope")}


def main() -> None:
    """Run all, and keep the figures."""
    lines = ["| series | values | a change is known | told: level | step | slope |", "|---|---:|---|---:|---:|---:|"]
    for name, draw in BATCHES.items():
        for n in (8, 20):
            for known in (False, True):
                lines.append(_row(f"level, {name}", n, known, of_batches("level", draw, n, known)))
    for weeks, usual in ((8, 40.0), (13, 10.0), (26, 60.0)):
        for known in (False, True):
            lines.append(_row(f"weekly sales of {usual:.0f}, level", weeks, known, of_weeks(weeks, usual, known)))
    for weeks in (8, 13):
        lines.append(_row("weekly sales of 60, level, a drink of twelve", weeks, False, of_houses(weeks, 60.0)))
    for shape in list(SHAPES)[1:]:
        for n in (12, 24):
            found = of_batches(shape, BATCHES["normal"], n, False, REPLICATES // 2)
            lines.append(_row(shape, n, False, found))
    keep("step or slope", lines)


def _row(series: str, n: int, known: bool, told: dict[str, float]) -> str:
    shares = " | ".join(f"{100 * share:.1f} %" for share in told.values())
    return f"| {series} | {n} | {'yes' if known else 'no'} | {shares} |"


if __name__ == "__main__":
    main()
