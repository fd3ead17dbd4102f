"""What the prep list's amounts cost, beside the least that can be: simulated weeks of ten preparations.

Run as `python -m benchmarks.making [--weeks N]`; the tables are written to docs/simulations.md. Each is
made by the plan of the prep list, day by day, over weeks that are the same for all ways. Once the plan is told the true
distribution of each day's use; once it has nothing but the days before, and forecasts as the house does.
"""

from __future__ import annotations

import argparse
from datetime import date, timedelta

import numpy as np

from benchmarks.making_optimum import DAYS, Case, Optimum, best_pair, cost_of, pair_way
from benchmarks.simulations import keep
from stillroom.analysis.batches.making_plan import Lot, MakingPlan, making_plan
from stillroom.analysis.batches.making_way import Costs, MakingWay
from stillroom.analysis.batches.shelf import Shelf
from stillroom.analysis.demand.replay import Replay
from stillroom.analysis.demand.sales_history import Ahead, History

SEED = 20260401
WEEK = np.array((0.6, 0.7, 0.8, 1.0, 1.6, 1.8, 0.5))
DRAWS = 2000
OTHER_WEEKS = 2000
"""Weeks on which the pair is chosen that does not know the weeks it is judged by."""
LEARNT = 12
"""Weeks of sales that the forecast begins with."""


def week(mean: float) -> tuple[float, ...]:
    """Mean serves of each weekday."""
    return tuple((mean * WEEK).tolist())


CASES = (
    Case(name="juice, 1 day", week=week(9), size=6, keeps=1, step=1, most=60, waste=0.4, short=4, making=0),
    Case(name="foam, 1 day", week=week(5), size=50, keeps=1, step=1, most=40, waste=0.05, short=5, making=0),
    Case(name="purée, 2 days", week=week(8), size=5, keeps=2, step=4, most=48, waste=0.5, short=4, making=3),
    Case(name="cordial, 3 days", week=week(6), size=6, keeps=3, step=5, most=40, waste=0.5, short=5, making=4),
    Case(name="shrub, 7 days", week=week(10), size=6, keeps=7, step=10, most=80, waste=0.4, short=4, making=5),
    Case(name="infusion, 10 days", week=week(4), size=4, keeps=10, step=20, most=40, waste=0.3, short=6, making=5),
    Case(name="syrup, 28 days", week=week(12), size=8, keeps=28, step=50, most=200, waste=0.1, short=3, making=5),
    Case(
        name="punch, 10 days, weekly", week=week(7), size=6, keeps=10, next_making=7, step=10, most=120, waste=0.4,
        short=5, making=5,
    ),
    Case(
        name="oleo, 5 days, every other", week=week(10), size=6, keeps=5, next_making=2, step=10, most=80, waste=0.4,
        short=5, making=5,
    ),
    Case(name="tincture, 14 days", week=week(1), size=2, keeps=14, step=10, most=40, waste=0.6, short=8, making=5),
)  # fmt: skip


def planned(case: Case, use: np.ndarray, shelf: np.ndarray) -> MakingPlan:
    """What the prep list would plan with these draws of the use to come."""
    lots = [Lot(amount=float(amount), days=days) for days, amount in enumerate(shelf, 1) if amount > 0]
    costs = Costs(waste=case.waste, short=case.short, making=case.making)
    known = {"keeps": case.keeps, "next_making": case.next_making}
    return making_plan(lots, use, step=float(case.step), most=float(case.most), costs=costs, **known)


def looked_ahead(case: Case) -> int:
    """Days that the prep list looks ahead."""
    return min(42, max(28, 3 * case.keeps))


def told_the_truth(case: Case, weeks: int) -> str:
    """A row: money a week by the plan that knows the distribution of the use, and by the best there is."""
    demand = case.draws(weeks * DAYS, 1, SEED)[0]
    pool = [case.draws(looked_ahead(case), DRAWS, SEED + 1, first=day).astype(float) for day in range(DAYS)]
    plans: dict[tuple[int, bytes], float] = {}

    def ours(day: int, shelf: np.ndarray) -> np.ndarray:
        key = day % DAYS, shelf[:, 0].tobytes()
        if key not in plans:
            plans[key] = planned(case, pool[day % DAYS], shelf[:, 0]).size
        return np.array([plans[key]])

    money = float(cost_of(case, demand, ours)[0]) / weeks
    low, high, afterwards = best_pair(case, demand)
    told = [case.name, f"{money:.2f}", f"{afterwards / weeks:.2f} ({low:.0f}, {high:.0f})"]
    low, high, _ = best_pair(case, case.draws(OTHER_WEEKS * DAYS, 1, SEED + 2)[0])
    beforehand = float(cost_of(case, demand, pair_way(case, np.array([low]), np.array([high])))[0])
    told += [f"{beforehand / weeks:.2f} ({low:.0f}, {high:.0f})"]
    told += [f"{money * weeks / afterwards:.3f}", f"{money * weeks / beforehand:.3f}"]
    if case.keeps <= 3 and case.next_making == 1:
        least = float(cost_of(case, demand, Optimum(case).decide)[0]) / weeks
        told += [f"{least:.2f}", f"{money / least:.3f}"]
    else:
        told += ["", ""]
    return f"| {' | '.join(told)} |"


def with_a_forecast(case: Case, weeks: int, moves: bool) -> str:
    """A row: money a week by the plan on the house's own forecast, and by the best fixed size found afterwards.

    Where demand moves, it goes up and down by half over a season of 26 weeks. The fixed size is made when less is there
    than the plan's own way asks for.
    """
    days = (LEARNT + weeks) * DAYS
    level = 1 + (0.5 * np.sin(2 * np.pi * np.arange(days) / 182) if moves else np.zeros(days))
    mean = level * np.array([case.week[day % DAYS] for day in range(days)])
    generator = np.random.default_rng([SEED, int(moves)])
    served = generator.negative_binomial(case.size, case.size / (case.size + mean)).astype(float)
    first = date(2026, 1, 5)
    history = History(first=first, drinks=("drink",), serves=served[:, None], events=(None,) * days)
    ways: dict[int, MakingWay] = {}
    drawn: dict[int, np.ndarray] = {}

    def use(day: int) -> np.ndarray:
        """Draws of the use from a day on, by the forecast made at the beginning of its week."""
        begin = day // DAYS
        if begin not in drawn:
            cut = (LEARNT + begin) * DAYS
            length = looked_ahead(case) + DAYS
            ahead = Ahead(
                days=tuple(first + timedelta(days=cut + number) for number in range(length)),
                on_menu=np.ones((length, 1), dtype=bool),
                events=(None,) * length,
            )
            known = history.until(cut)
            drawn[begin] = Replay(known).forecast(cut, ahead).draws(DRAWS, SEED + begin)[:, :, 0].astype(float)
        return drawn[begin][:, day % DAYS :][:, : looked_ahead(case)]

    def ours(day: int, shelf: np.ndarray) -> np.ndarray:
        plan = planned(case, use(day), shelf[:, 0])
        ways[day] = plan.way
        return np.array([plan.size])

    demand = served[LEARNT * DAYS :]
    money = float(cost_of(case, demand, ours)[0]) / weeks
    sizes = np.arange(case.step, case.most + 1, case.step, dtype=float)

    def fixed(day: int, shelf: np.ndarray) -> np.ndarray:
        there = Shelf([], case.keeps, sizes.shape)
        for left, amount in enumerate(shelf, 1):
            there.put(left, amount)
        return np.where(ways[day].made(0, there) > 0, sizes, 0.0)

    costs = cost_of(case, demand, fixed, len(sizes)) / weeks
    best = int(np.argmin(costs))
    name = f"{case.name}, {'moves' if moves else 'steady'}"
    return f"| {name} | {money:.2f} | {costs[best]:.2f} ({sizes[best]:.0f}) | {money / costs[best]:.3f} |"


def main() -> None:
    """Simulate, print, and keep the tables."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--weeks", type=int, default=200)
    weeks = parser.parse_args().weeks
    known = [told_the_truth(case, weeks) for case in CASES]
    keep(
        "making, demand known",
        [
            f"{weeks} weeks of each preparation, money a week.",
            "",
            "| preparation | plan | best (s, S) pair of these weeks | of other weeks | plan / first | plan / second "
            "| optimum | plan / optimum |",
            "|---|---|---|---|---|---|---|---|",
            *known,
        ],
    )
    chosen = [case for case in CASES if case.name.split(",")[0] in ("purée", "punch")]
    own = [with_a_forecast(case, weeks, moves) for case in chosen for moves in (False, True)]
    keep(
        "making, demand forecast",
        [
            f"{weeks} weeks of each preparation, money a week.",
            "",
            "| preparation | plan | best fixed size | plan / fixed |",
            "|---|---|---|---|",
            *own,
        ],
    )


if __name__ == "__main__":
    main()
