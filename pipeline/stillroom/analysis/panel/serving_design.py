"""Who tastes what in which order: orders balanced for position and for what was tasted just before.

Samples are numbers from 0. Nothing here is random but what is drawn from the generator handed in.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from functools import cache
from itertools import combinations, pairwise, permutations
from typing import Final

import numpy as np

from stillroom.analysis.panel.block_designs import balanced_blocks
from stillroom.analysis.panel.even_orders import even_orders

Order = tuple[int, ...]

TEST_ORDERS: Final = {
    "triangle": ("ABB", "AAB", "ABA", "BAA", "BBA", "BAB"),
    "duo-trio": ("A:AB", "A:BA", "B:AB", "B:BA"),
    "paired-preference": ("AB", "BA"),
    "2-AFC": ("AB", "BA"),
    "3-AFC": ("AAB", "ABA", "BAA"),
    "tetrad": ("AABB", "ABAB", "ABBA", "BAAB", "BABA", "BBAA"),
    "A-not-A": ("A:A", "A:B"),
    "two-out-of-five": tuple(
        "".join(odd if place in pair else rest for place in range(5))
        for odd, rest in ("AB", "BA")
        for pair in combinations(range(5), 2)
    ),
}
"""All orders of a difference test, each to be served equally often (ISO 4120, ISO 10399, ISO 5495, ISO 6658;
ISO 8588 and ASTM E3009 from memory).

A letter before a colon is the marked reference.
"""

SWEEPS: Final = 6
"""Times that every block, and every order, that is no part of a whole design is chosen anew among the others."""


def williams(samples: int) -> list[Order]:
    """A Williams design: every sample equally often in every position, and right after every other equally often.

    `samples` orders if even, twice as many if odd. Source: Williams (1949), *Aust. J. Sci. Res. A* 2:149.

    >>> williams(4)
    [(0, 1, 3, 2), (1, 2, 0, 3), (2, 3, 1, 0), (3, 0, 2, 1)]
    """
    zigzag = [0]
    for step in range(1, samples):
        zigzag.append((step + 1) // 2 if step % 2 else samples - step // 2)
    square = [tuple((place + shift) % samples for place in zigzag) for shift in range(samples)]
    return square if samples % 2 == 0 else square + [order[::-1] for order in square]


def serving_orders(samples: int, panelists: int, at_most: int, generator: np.random.Generator) -> list[Order]:
    """One order for each panelist, each of at most `at_most` samples; the panelists' places are drawn at random.

    All samples fit: whole Williams designs; for another number of people orders as even as an integer programme finds
    them; else as many of a Williams design's as are needed, the most balancing first.
    Else: balanced incomplete blocks (Cochran & Cox, *Experimental Designs*, chapter 11), ordered the same way.
    """
    size = min(samples, at_most)
    if size == samples and panelists % len(williams(samples)):
        even = even_orders(samples, panelists, generator)
        if even is not None:
            return [even[place] for place in generator.permutation(panelists)]
    blocks = [tuple(range(samples))] * panelists if size == samples else _blocks(samples, size, panelists, generator)
    names = generator.permutation(samples)
    orders: list[Order] = []
    if size == samples:
        design = williams(samples)
        orders = design * (panelists // len(design))
    served = _Served(samples, size)
    for order in orders:
        served.add(order)
    first_chosen = len(orders)
    for block in blocks[first_chosen:]:
        orders.append(served.best(_arrangements(block, samples), generator))
        served.add(orders[-1])
    for _ in range(SWEEPS):
        for place in range(first_chosen, panelists):
            served.add(orders[place], -1)
            orders[place] = served.best(_arrangements(blocks[place], samples), generator)
            served.add(orders[place])
    renamed = [tuple(int(names[sample]) for sample in order) for order in orders]
    return [renamed[place] for place in generator.permutation(panelists)]


def orders_of_test(method: str, panelists: int, generator: np.random.Generator) -> list[str]:
    """One order of a difference test for each panelist: every order equally often, as far as the number goes."""
    possible = TEST_ORDERS[method]
    orders: list[str] = []
    while len(orders) < panelists:
        left = min(panelists - len(orders), len(possible))
        orders += [possible[place] for place in generator.permutation(len(possible))[:left]]
    return [orders[place] for place in generator.permutation(panelists)]


def balance(orders: Iterable[Sequence[int]], samples: int) -> dict[str, tuple[int, int]]:
    """How even the orders are: least and most often that ...

    'position': a sample stands in a position; 'after': one comes right after another; 'together': two are tasted by
    the same person.
    """
    position: Counter[tuple[int, int]] = Counter()
    after: Counter[tuple[int, int]] = Counter()
    together: Counter[tuple[int, ...]] = Counter()
    size = 0
    for order in orders:
        size = max(size, len(order))
        position.update(enumerate(order))
        after.update(pairwise(order))
        together.update(combinations(sorted(order), 2))

    def span(counts: list[int]) -> tuple[int, int]:
        return (min(counts), max(counts)) if counts else (0, 0)

    return {
        "position": span([position[place, sample] for place in range(size) for sample in range(samples)]),
        "after": span([after[pair] for pair in permutations(range(samples), 2)]),
        "together": span([together[pair] for pair in combinations(range(samples), 2)]),
    }


class _Served:
    """What has been served so far, to choose the order that evens it out most."""

    def __init__(self, samples: int, size: int) -> None:
        self.position = np.zeros((size, samples))
        self.after = np.zeros((samples, samples))

    def add(self, order: Order, count: int = 1) -> None:
        self.position[range(len(order)), order] += count
        self.after[order[:-1], order[1:]] += count

    def best(self, orders: Sequence[Order], generator: np.random.Generator) -> Order:
        """The order that makes the counts grow least in squares, positions counting double; a draw among equals."""
        table = np.array(orders)
        cost = 2 * self.position[np.arange(table.shape[1]), table].sum(axis=1)
        cost += self.after[table[:, :-1], table[:, 1:]].sum(axis=1)
        equal = np.flatnonzero(cost == cost.min())
        return orders[int(generator.choice(equal))]


@cache
def _arrangements(block: Order, samples: int) -> list[Order]:
    """Orders to choose from: those of a Williams design, or all of a small block."""
    if len(block) == samples:
        return williams(samples)
    if len(block) <= 6:
        return list(permutations(block))
    turned = [block[shift:] + block[:shift] for shift in range(len(block))]
    return [tuple(way[place] for place in order) for way in turned for order in williams(len(block))]


def _blocks(samples: int, size: int, panelists: int, generator: np.random.Generator) -> list[Order]:
    """Which samples each panelist tastes: whole balanced designs, then what evens out pairs and samples most."""
    design = balanced_blocks(samples, size)
    chosen = design * (panelists // len(design)) if design else []
    whole = len(chosen)
    pool = np.array(design or _some_subsets(samples, size, generator))
    together = np.zeros((samples, samples))
    for block in chosen:
        together[np.ix_(block, block)] += 1

    def most_evening() -> Order:
        cost = together[pool[:, :, None], pool[:, None, :]].sum(axis=(1, 2))
        block = pool[int(generator.choice(np.flatnonzero(cost == cost.min())))]
        together[np.ix_(block, block)] += 1
        return tuple(block.tolist())

    while len(chosen) < panelists:
        chosen.append(most_evening())
    for _ in range(SWEEPS):
        for place in range(whole, panelists):
            together[np.ix_(chosen[place], chosen[place])] -= 1
            chosen[place] = most_evening()
    return chosen


def _some_subsets(samples: int, size: int, generator: np.random.Generator) -> list[Order]:
    """Subsets to choose from where no balanced design is at hand."""
    drawn = {tuple(sorted(generator.permutation(samples)[:size].tolist())) for _ in range(2000)}
    return sorted(drawn)
