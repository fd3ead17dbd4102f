"""Orders as balanced as their number allows, by an integer programme (HiGHS, as SciPy has it)."""

from __future__ import annotations

from itertools import permutations
from typing import Final

import numpy as np

from stillroom.analysis.panel.version_fit import Floats

Order = tuple[int, ...]
MOST_ORDERS: Final = 720
"""More orders, or circles of orders, than these are too many to weigh against one another: seven samples in circles."""
MOST_NODES: Final = 10
"""Nodes of one search, so that drawing up a session never hangs."""


def even_orders(samples: int, panelists: int, generator: np.random.Generator) -> list[Order] | None:
    """Orders of all samples whose positions, and what comes right after what, are even: counts differ by one at most.

    Where the people are a multiple of the samples, whole circles (an order and its shifts) are chosen: their positions
    are even by themselves. Else single orders. ISO 29842 and MacFie et al. (1989), *J. Sens. Stud.* 4:129 ask for
    both kinds of balance. None where there are none, or too many to look through.

    >>> from stillroom.analysis.panel.serving_design import balance
    >>> balance(even_orders(5, 15, np.random.default_rng(0)), 5)["after"]
    (3, 3)
    """
    whole = panelists % samples == 0
    if len(_all(samples - 1 if whole else samples)) > MOST_ORDERS:
        return None
    circles = _circles(samples) if whole else [[order] for order in _all(samples)]
    circles = [circles[place] for place in generator.permutation(len(circles))]
    stands = np.zeros((len(circles), samples, samples))
    after = np.zeros((len(circles), samples, samples))
    for number, circle in enumerate(circles):
        for order in circle:
            stands[number, range(samples), order] += 1
            after[number, order[:-1], order[1:]] += 1
    chosen = _chosen(
        [stands.reshape(len(circles), -1), after[:, ~np.eye(samples, dtype=bool)]], panelists // len(circles[0])
    )
    if chosen is None:
        return None
    return [order for circle, times in zip(circles, chosen, strict=True) for _ in range(times) for order in circle]


def _all(samples: int) -> list[Order]:
    return list(permutations(range(samples))) if samples <= 6 else [()] * (MOST_ORDERS + 1)


def _circles(samples: int) -> list[list[Order]]:
    """Each order that begins with the first sample, with its shifts round the circle."""
    return [
        [tuple((place + shift) % samples for place in (0, *rest)) for shift in range(samples)]
        for rest in permutations(range(1, samples))
    ]


def _chosen(counted: list[Floats], often: int) -> list[int] | None:
    """How often each circle is taken, `often` in all, so that no two counts of a kind differ by more than one."""
    from scipy import optimize

    circles = len(counted[0])
    constraints = [optimize.LinearConstraint(np.ones((1, circles)), often, often)]
    for table in counted:
        mean = table[0].sum() * often / table.shape[1]
        constraints.append(optimize.LinearConstraint(table.T, np.floor(mean), np.ceil(mean)))
    found = optimize.milp(
        np.zeros(circles),
        constraints=constraints,
        integrality=np.ones(circles, dtype=int),
        bounds=optimize.Bounds(0, often),
        options={"node_limit": MOST_NODES},
    )
    return None if found.x is None else [int(times) for times in np.round(found.x)]
