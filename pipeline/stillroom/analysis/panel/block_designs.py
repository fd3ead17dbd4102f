"""Balanced incomplete blocks: sets of samples in which every two meet equally often.

Conditions: b k = t r, lambda (t - 1) = r (k - 1), b >= t (Fisher); Cochran & Cox, *Experimental Designs*, chapter 11.
"""

from __future__ import annotations

import random
from collections.abc import Iterator
from functools import cache
from itertools import combinations
from math import comb
from typing import Final

Block = tuple[int, ...]
Pair = tuple[int, int]
MOST_BLOCKS: Final = 120
"""Larger designs would need more panelists than a bar has friends."""
MOST_STEPS: Final = 4_000
"""Steps of one search, so that drawing up a session never hangs."""
MOST_SEARCHED: Final = 10
"""Samples beyond which only designs that go round in a circle are looked for."""
SEARCHES: Final = 12
"""Searches for one size of design, each in another order of the blocks."""


@cache
def _found(samples: int, size: int) -> tuple[Block, ...]:
    for blocks, together in _admissible(samples, size):
        design = (
            _cyclic(samples, size, blocks, together)
            or _round_one(samples, size, blocks)
            or _four_cycles(samples, size, blocks)
            or _searched(samples, size, blocks, together)
        )
        if design is None and 2 * size > samples:
            design = _complements(samples, size, blocks)
        if design is not None:
            return tuple(design)
    return tuple(combinations(range(samples), size)) if comb(samples, size) <= MOST_BLOCKS else ()


def balanced_blocks(samples: int, size: int) -> list[Block]:
    """The smallest balanced design found; empty where none of at most 120 blocks is.

    >>> len(balanced_blocks(7, 3)), len(balanced_blocks(6, 3)), len(balanced_blocks(9, 3))
    (7, 10, 12)
    """
    return list(_found(samples, size))


def _admissible(samples: int, size: int) -> Iterator[tuple[int, int]]:
    """Numbers of blocks and of meetings of a pair that the conditions allow, smallest first."""
    for together in range(1, MOST_BLOCKS):
        times, left = divmod(together * (samples - 1), size - 1)
        blocks, left_over = divmod(samples * times, size)
        if blocks > min(MOST_BLOCKS, comb(samples, size)):
            return
        if left == left_over == 0 and blocks >= samples:
            yield blocks, together


def _cyclic(samples: int, size: int, blocks: int, together: int) -> list[Block] | None:
    """One or two blocks, shifted round the circle: every difference must turn up equally often."""
    starts, left = divmod(blocks, samples)
    if left or starts > 2:
        return None
    based = [(0, *rest) for rest in combinations(range(1, samples), size - 1)]
    counts = [_differences(block, samples) for block in based]
    for chosen in combinations(range(len(based)), starts):
        if all(sum(counts[c][d] for c in chosen) == together for d in range(1, samples)):
            return [
                tuple(sorted((place + shift) % samples for place in based[c]))
                for c in chosen
                for shift in range(samples)
            ]
    return None


def _round_one(samples: int, size: int, blocks: int) -> list[Block] | None:
    """Half of the samples each: a block with the last sample and one without, all others shifted round the circle."""
    if samples != 2 * size or blocks != 2 * (samples - 1):
        return None
    circle = samples - 1
    without = {tuple(_differences(block, circle)[1:]): block for block in combinations(range(circle), size)}
    for block in combinations(range(circle), size - 1):
        lacking = tuple(size - 1 - met for met in _differences(block, circle)[1:])
        if lacking in without:
            return [
                tuple(sorted((place + shift) % circle for place in start)) + last
                for start, last in ((block, (circle,)), (without[lacking], ()))
                for shift in range(circle)
            ]
    return None


def _four_cycles(samples: int, size: int, blocks: int) -> list[Block] | None:
    """Ten samples in fours: as the ten lines between five points, by the fifteen ways round four of the points."""
    if (samples, size, blocks) != (10, 4, 15):
        return None
    lines = {line: number for number, line in enumerate(combinations(range(5), 2))}
    ways = [(a, *way) for a, b, c, d in combinations(range(5), 4) for way in ((b, c, d), (b, d, c), (c, b, d))]
    return [
        tuple(sorted(lines[min(ends), max(ends)] for ends in zip(way, (*way[1:], way[0]), strict=True))) for way in ways
    ]


def _differences(block: Block, samples: int) -> list[int]:
    counts = [0] * samples
    for a in block:
        for b in block:
            counts[(a - b) % samples] += 1
    return counts


def _searched(samples: int, size: int, blocks: int, together: int) -> list[Block] | None:
    """Block after block, each for the first pair that has not met often enough, with a way back; gives up in time."""
    if samples > MOST_SEARCHED:
        return None
    everything = list(combinations(range(samples), size))
    shuffling = random.Random(0)
    for _ in range(SEARCHES):
        search = _Search(everything, samples, blocks, together)
        if search.extend():
            return search.chosen
        shuffling.shuffle(everything)
    return None


class _Search:
    """One depth-first search for a design."""

    def __init__(self, everything: list[Block], samples: int, blocks: int, together: int) -> None:
        self.met = [[0] * samples for _ in range(samples)]
        self.blocks, self.together = blocks, together
        self.chosen: list[Block] = []
        self.steps = 0
        self.candidates: dict[Pair, list[tuple[Block, list[Pair]]]] = {
            pair: [] for pair in combinations(range(samples), 2)
        }
        for block in everything:
            pairs = list(combinations(block, 2))
            for pair in pairs:
                self.candidates[pair].append((block, pairs))

    def extend(self) -> bool:
        lacking = next((pair for pair in self.candidates if self.met[pair[0]][pair[1]] < self.together), None)
        if lacking is None:
            return True
        if len(self.chosen) == self.blocks:
            return False
        for block, pairs in self.candidates[lacking]:
            self.steps += 1
            if self.steps > MOST_STEPS:
                return False
            if any(self.met[a][b] == self.together for a, b in pairs):
                continue
            self._meet(pairs, 1)
            self.chosen.append(block)
            if self.extend():
                return True
            self.chosen.pop()
            self._meet(pairs, -1)
        return False

    def _meet(self, pairs: list[Pair], count: int) -> None:
        for a, b in pairs:
            self.met[a][b] += count


def _complements(samples: int, size: int, blocks: int) -> list[Block] | None:
    """What is left out of a design of the other samples is balanced too."""
    rest = samples - size
    if rest < 2:
        return None
    other = _found(samples, rest)
    if len(other) != blocks:
        return None
    return [tuple(sample for sample in range(samples) if sample not in block) for block in other]
