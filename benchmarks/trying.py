"""What to try next, on the bench: the liking gained after a few sittings, beside two ways of going by the last sitting.

A hidden optimum lies one to three steps from today's amounts, in two or three amounts. Six people taste four glasses a
sitting: the best there is and three others, on a scale of 1 to 9 in whole points. After three sittings the version that
each way holds best is compared with today's, by what is truly liked. A number after the program makes that many runs.
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

import numpy as np

from benchmarks.simulations import keep
from stillroom.analysis.bench.liking_surface import OWN, Array, Surface, Tasted
from stillroom.analysis.bench.next_versions import around, best_of, gains_over, next_versions

RUNS: Final = 200
SITTINGS, PEOPLE, GLASSES = 3, 6, 4
WIDTH: Final = 8.0
SCATTER: Final = 1.2
"""Standard deviation of one score, points."""
Liking = Callable[[Array], Array]


@dataclass(frozen=True, kw_only=True)
class Truth:
    """What is liked: 0 at the optimum, less everywhere else."""

    name: str
    optimum: Array
    liking: Liking


def truths(rng: np.random.Generator, amounts: int) -> list[Truth]:
    """A hill and a quadratic with the same optimum: 2 points lost two steps from it, one amount mattering more."""
    way = rng.normal(size=amounts)
    optimum = way / np.linalg.norm(way) * rng.uniform(1, 3)
    matters = rng.uniform(0.5, 1.5, amounts)

    def far(x: Array) -> Array:
        return np.asarray((matters * (np.atleast_2d(x) - optimum) ** 2).sum(axis=1))

    return [
        Truth(name="hill", optimum=optimum, liking=lambda x: np.asarray(3 * np.exp(-far(x) / 8) - 3)),
        Truth(name="quadratic", optimum=optimum, liking=lambda x: np.asarray(-far(x) / 4)),
    ]


@dataclass
class Panel:
    """Sittings so far, and what they said."""

    truth: Truth
    rng: np.random.Generator
    amounts: Array
    version: list[int]
    person: list[int]
    score: list[float]
    in_band: list[bool]
    """Of each version proposed, whether what it truly gains lies in its 95 % band."""

    def taste(self, new: Array) -> list[float]:
        """Everybody tastes these; the mean score of each."""
        places = []
        for x in new:
            same = np.flatnonzero((np.abs(self.amounts - x) < 1e-9).all(axis=1))
            if len(same):
                places.append(int(same[0]))
            else:
                self.amounts = np.vstack([self.amounts, x])
                places.append(len(self.amounts) - 1)
        first = max(self.person, default=-1) + 1
        level = self.rng.normal(0, 1, PEOPLE)
        liked = self.truth.liking(self.amounts[places])
        scores = 6.5 + liked + level[:, None] + self.rng.normal(0, SCATTER, (PEOPLE, len(places)))
        scores = np.clip(np.round(scores), 1, 9)
        for one in range(PEOPLE):
            self.version += places
            self.person += [first + one] * len(places)
            self.score += scores[one].tolist()
        return [float(mean) for mean in scores.mean(axis=0)]

    def surface(self) -> Surface:
        """What the bench makes of it."""
        return Surface(
            Tasted(
                amounts=self.amounts,
                version=self.version,
                person=self.person,
                score=np.array(self.score),
                width=WIDTH,
                own=np.full(len(self.amounts), OWN),
            )
        )


def by_the_bench(panel: Panel) -> Array:
    """As 'stillroom draft --next' proposes, and the version that is then held best."""
    best = panel.amounts[0]
    for sitting in range(SITTINGS):
        if sitting:
            best = panel.amounts[best_of(panel.surface())]
        candidates = around(best)
        chosen = next_versions(panel.surface(), candidates, best, GLASSES - 1, PEOPLE)
        panel.in_band += in_band(panel, candidates[chosen], best)
        panel.taste(np.vstack([best, candidates[chosen]]))
    return panel.amounts[best_of(panel.surface())]


def in_band(panel: Panel, proposed: Array, best: Array) -> list[bool]:
    """Whether what each version truly gains over the best lies in the band that is told of it."""
    _, low, high = gains_over(panel.surface(), proposed, best)
    truly = panel.truth.liking(proposed) - panel.truth.liking(best)
    return [bool(inside) for inside in (low <= truly) & (truly <= high)]


def by_random_steps(panel: Panel) -> Array:
    """Three random steps from the best, and on with the best of the sitting."""
    best = panel.amounts[0]
    for _ in range(SITTINGS):
        glasses = np.vstack([best, best + panel.rng.uniform(-1, 1, (GLASSES - 1, len(best)))])
        best = glasses[int(np.argmax(panel.taste(glasses)))]
    return best


def one_at_a_time(panel: Panel) -> Array:
    """One amount a step up or down in each glass, in turn, and on with the best of the sitting."""
    best, amounts = panel.amounts[0], panel.amounts.shape[1]
    moves = [sign * np.eye(amounts)[place] for place in range(amounts) for sign in (1, -1)]
    for sitting in range(SITTINGS):
        turn = [moves[(sitting * (GLASSES - 1) + glass) % len(moves)] for glass in range(GLASSES - 1)]
        glasses = np.vstack([best, *(best + move for move in turn)])
        best = glasses[int(np.argmax(panel.taste(glasses)))]
    return best


WAYS: Final = {"the bench": by_the_bench, "random steps": by_random_steps, "one at a time": one_at_a_time}


def gains(runs: int, amounts: int, kind: int) -> dict[str, Array]:
    """Liking gained by each way in each run, points; and how far each start was below the optimum."""
    found: dict[str, list[float]] = {name: [] for name in (*WAYS, "to be had", "in the band")}
    for run in range(runs):
        truth = truths(np.random.default_rng([run, amounts]), amounts)[kind]
        start = np.zeros((1, amounts))
        for place, (name, way) in enumerate(WAYS.items()):
            rng = np.random.default_rng([run, amounts, place, 7])
            panel = Panel(truth, rng, start, [], [], [], [])
            found[name].append(float((truth.liking(way(panel)) - truth.liking(start))[0]))
            if panel.in_band:
                found["in the band"].append(float(np.mean(panel.in_band)))
        found["to be had"].append(float(-truth.liking(start)[0]))
    return {name: np.array(values) for name, values in found.items()}


def ahead(some: Array, others: Array) -> tuple[float, float]:
    """Mean difference over the runs, and half its 95 % interval."""
    apart = some - others
    return float(apart.mean()), float(1.96 * apart.std(ddof=1) / np.sqrt(len(apart)))


def main(runs: int) -> None:
    lines = [
        "| liking | amounts | to be had | the bench | random steps | one at a time | ahead of random | ahead of one "
        "| in the band |",
        "|---|---:|---:|---:|---:|---:|---:|---:|---:|",
    ]
    for kind, name in enumerate(("hill", "quadratic")):
        for amounts in (1, 2, 3):
            found = gains(runs, amounts, kind)
            means = " | ".join(f"{found[way].mean():.2f}" for way in ("to be had", *WAYS))
            leads = " | ".join(
                "{:+.2f} ± {:.2f}".format(*ahead(found["the bench"], found[way])) for way in list(WAYS)[1:]
            )
            lines.append(f"| {name} | {amounts} | {means} | {leads} | {100 * found['in the band'].mean():.0f} % |")
    keep("what to try next", lines)


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else RUNS)
