"""What a batch of a size comes to, made on an empty shelf: some of it lost, or none of it left too soon."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

import numpy as np

LADDER: Final = (0.5, 1.0, 2.0)
"""Makings that are looked at beside the size that is usual now and the one that costs least."""
ALIKE: Final = 0.05
"""Sizes that differ by less than this part are one."""


@dataclass(frozen=True, kw_only=True)
class BatchSize:
    """One size and its odds; amounts in the preparation's unit."""

    size: float
    chance_lost: float
    """That some of it is left when its keep ends."""
    lost: float
    """How much of it, on average."""
    chance_short: float
    """That it is used up before the next making day."""
    now: bool = False
    """About as batches are made now."""
    advised: bool = False
    """About what the way that costs least makes."""


def batch_sizes(
    use: np.ndarray, *, keeps: int, next_making: int, making: float, step: float, now: float | None, advised: float
) -> tuple[BatchSize, ...]:
    """Odds of several sizes, the smallest first.

    Args:
        use: draws by days of its use, from the day it is made on.
        keeps: days a batch may be used, that day included.
        next_making: days until the next making.
        making: what one making of the spec gives.
        step: the smallest part that is made; the advised size is a multiple of it.
        now: how much is usually made at a time; None where none was.
        advised: the mean making of the way that costs least (`MakingPlan.steady`).
    """
    best = max(round(advised / step), 1) * step
    wanted = [best, *([now] if now else []), *(making * part for part in LADDER)]
    kept, soon = use[:, :keeps].sum(axis=1), use[:, :next_making].sum(axis=1)
    return tuple(
        BatchSize(
            size=size,
            chance_lost=float((kept < size).mean()),
            lost=float(np.maximum(size - kept, 0.0).mean()),
            chance_short=float((soon > size).mean()),
            now=now is not None and _alike(size, now),
            advised=_alike(size, best),
        )
        for size in sorted(_apart(wanted))
    )


def _apart(sizes: Iterable[float]) -> list[float]:
    """The sizes, those left out that are like one before."""
    found: list[float] = []
    for size in sizes:
        if not any(_alike(size, other) for other in found):
            found.append(size)
    return found


def _alike(one: float, other: float) -> bool:
    return abs(one - other) <= ALIKE * max(one, other)
