"""The menu chosen by the programme beside every set there is, by the unsimplified plan, on random houses.

`python -m benchmarks.choosing` writes its section of docs/simulations.md; on one core it takes some minutes.
"""

from __future__ import annotations

import sys
import time
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from benchmarks.simulations import keep
from stillroom.analysis.batches.steady_making import Made
from stillroom.analysis.next_menu.candidates import Candidates, Limits
from stillroom.analysis.next_menu.choosing import choose
from stillroom.analysis.next_menu.menu_week import Earning, Preparation
from stillroom.analysis.next_menu.takings import Takings

HOUSES = 60
"""Of some of them no menu keeps to the limits; so many that 50 are left."""
MOST_SETS = 130
"""Sets of a house of which every one is scored."""


@dataclass(frozen=True)
class Trial:
    drinks: int
    preparations: int
    share: float
    sets: int
    behind: float
    """How much less the chosen menu leaves than the best of all sets, as a part."""
    same: bool


def random_house(seed: int, drinks: int, preparations: int, share: float, draws: int = 60) -> Candidates:
    """A house whose drinks share perishable preparations."""
    generator = np.random.default_rng(seed)
    mean = generator.gamma(3.0, 1.5, size=drinks)
    weekday = np.array([0.0, 0.7, 0.8, 0.9, 1.4, 1.7, 0.5])
    days = np.tile(weekday, 4)
    spread = generator.gamma(20, 1 / 20, size=(draws, 1, drinks))
    serves = generator.poisson(mean * days[None, :, None] * spread).astype(float)
    takes = np.zeros((drinks, preparations))
    for drink in range(drinks):
        count = min(preparations, int(generator.integers(1, 4)))
        takes[drink, generator.choice(preparations, count, replace=False)] = generator.uniform(10, 50, count)
    names = tuple(f"P{place}" for place in range(preparations))
    made = {
        name: Preparation(
            made=Made(keeps=int(generator.integers(1, 12)), step=float(size / 2), most=float(2 * size), next_making=1),
            waste=float(generator.uniform(0.002, 0.02)),
            making=float(generator.uniform(4, 12)),
            minutes=float(generator.integers(10, 60)),
        )
        for name, size in zip(names, generator.integers(300, 1500, preparations), strict=True)
    }
    contribution = generator.uniform(3, 11, size=drinks)
    return Candidates(
        names=tuple(f"D{place}" for place in range(drinks)),
        today=drinks,
        serves=serves,
        earning=Earning(net=contribution + 2, contribution=contribution),
        takes=Takings(
            preparations=names,
            units=("ml",) * preparations,
            straight=takes,
            inner=np.zeros((preparations, preparations)),
        ),
        preparations=made,
        share=share,
        running_out=1.0,
    )


def random_limits(house: Candidates, seed: int) -> Limits:
    generator = np.random.default_rng(seed + 1_000_000)
    drinks = len(house.names)
    size = int(generator.integers(2, drinks))
    while len(list(combinations(range(drinks), size))) > MOST_SETS:
        size += 1 if size > drinks / 2 else -1
    must = (int(generator.integers(drinks)),) if generator.random() < 0.3 else ()
    others = [drink for drink in range(drinks) if drink not in must]
    pair = tuple(int(one) for one in generator.choice(others, 2, replace=False))
    fewer = max(2, round(0.8 * len(house.takes.preparations))) if generator.random() < 0.5 else None
    return Limits(drinks=size, preparations=fewer, must=must, one_of=(pair,) if generator.random() < 0.2 else ())


def every_set(house: Candidates, limits: Limits) -> dict[tuple[int, ...], float]:
    """Every set within limits, with what it leaves by the plan."""
    found = {}
    takes = house.whole > 0
    for one in combinations(range(len(house.names)), limits.drinks):
        if not set(limits.must) <= set(one) or any(len(set(group) & set(one)) != 1 for group in limits.one_of):
            continue
        if limits.preparations is not None and takes[list(one)].any(axis=0).sum() > limits.preparations:
            continue
        found[one] = house.score(one).left
    return found


def trial(seed: int) -> Trial | None:
    generator = np.random.default_rng(seed)
    drinks, preparations = int(generator.integers(5, 13)), int(generator.integers(3, 9))
    share = 0.0 if seed % 2 else float(generator.uniform(0.2, 0.9))
    house = random_house(seed, drinks, preparations, share)
    limits = random_limits(house, seed)
    choice = choose(house, limits)
    every = every_set(house, limits)
    if choice is None or not every:
        assert choice is None
        assert not every
        return None
    best = max(every.values())
    behind = (best - choice.best.scored.left) / abs(best)
    return Trial(drinks, preparations, share, len(every), behind, behind <= 1e-12)


def large() -> tuple[float, float]:
    """Seconds for 60 drinks and 40 preparations: of the processor, and by the clock."""
    house = random_house(7, 60, 40, 0.5)
    limits = Limits(drinks=20, preparations=25, must=(3,), one_of=((5, 6),))
    begin, clock = time.process_time(), time.perf_counter()
    assert choose(house, limits) is not None
    return time.process_time() - begin, time.perf_counter() - clock


def main() -> None:
    told([one for seed in range(HOUSES) if (one := trial(seed)) is not None], large()[0])


def told(done: list[Trial], seconds: float) -> None:
    """Keep what was found."""
    alone = [one for one in done if one.share == 0]
    shared = [one for one in done if one.share > 0]
    keep(
        "choosing a menu",
        [
            f"{len(done)} houses of 5 to 12 drinks and 3 to 8 shared preparations; of {HOUSES - len(done)} more no "
            "menu keeps to the limits, and none is chosen.",
            "",
            "| guests of drinks left out who return | houses | sets scored | same set | furthest behind the best |",
            "|---|---|---|---|---|",
            *(
                f"| {words} | {len(of)} | {sum(one.sets for one in of)} | {sum(one.same for one in of)} | "
                f"{100 * max(one.behind for one in of):.3f} % |"
                for words, of in (("none", alone), ("20 to 90 %", shared))
            ),
            "",
            f"60 drinks and 40 preparations, 20 to choose, at most 25 preparations: {seconds:.0f} s of one core for "
            "the best, the ten next best, the price of each limit and 200 redrawn demands.",
        ],
    )


if __name__ == "__main__":
    sys.exit(main())
