"""Individuals and moving range: does a measurement stay where it was?"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

D2: Final = 1.128
D4: Final = 3.267
"""Published constants for ranges of two (ASTM MNL 7; Montgomery, Introduction to Statistical Quality Control)."""
RUN: Final = 8
"""Points in a row on one side of the middle that are a signal (Western Electric 1956)."""
LEAST: Final = 8
"""Measurements needed; common practice asks for twenty before limits are trusted."""
DRIFT_LEVEL: Final = 0.01


@dataclass(frozen=True, kw_only=True)
class ControlChart:
    """Limits and signals of a series of single measurements."""

    values: tuple[float, ...]
    middle: float
    low: float
    high: float
    mean_range: float
    range_high: float
    beyond: tuple[int, ...]
    """Places of values outside the limits."""
    jumps: tuple[int, ...]
    """Places of values whose step from the one before is above the range limit."""
    runs: tuple[int, ...]
    """Places at which a run on one side has reached `RUN`."""
    drift: float | None
    """Change per batch (Theil-Sen slope) where Kendall's tau says there is one; else None."""

    @property
    def steady(self) -> bool:
        """No signal of any kind."""
        return not (self.beyond or self.runs or self.jumps) and self.drift is None


def control_chart(values: Sequence[float], target: float | None = None) -> ControlChart | None:
    """Chart for individuals: middle +/- 3 mean moving range / d2; None with fewer than `LEAST` values.

    Source: Shewhart's limits as in NIST/SEMATECH e-Handbook 6.3.2.2; run rule of the Western Electric handbook; drift
    by Kendall's tau at 1 % with the Theil-Sen slope (Sen 1968).

    Args:
        values: in the order made.
        target: the middle, where the spec says one; the mean of the values otherwise.
    """
    x = np.asarray(values, dtype=float)
    if len(x) < LEAST:
        return None
    steps = np.abs(np.diff(x))
    mean_range = float(steps.mean())
    middle = float(x.mean()) if target is None else target
    reach = 3 * mean_range / D2
    return ControlChart(
        values=tuple(x.tolist()),
        middle=middle,
        low=middle - reach,
        high=middle + reach,
        mean_range=mean_range,
        range_high=D4 * mean_range,
        # Readings that are all alike have no scatter to draw limits from: a target they miss shows as a run.
        beyond=tuple(int(i) for i in np.flatnonzero((np.abs(x - middle) > reach + 1e-9) & (reach > 0))),
        jumps=tuple(int(i) + 1 for i in np.flatnonzero(steps > D4 * mean_range + 1e-9)),
        # Without a target, runs are counted about the median: one batch far off would drag the mean from the rest.
        runs=_runs(np.sign(x - (np.median(x) if target is None else target))),
        drift=_drift(x),
    )


def _runs(sides: np.ndarray) -> tuple[int, ...]:
    found, length, before = [], 0, 0.0
    for place, side in enumerate(sides.tolist()):
        length = length + 1 if side == before and side != 0 else int(side != 0)
        before = side
        if length == RUN:
            found.append(place)
    return tuple(found)


def _drift(x: np.ndarray) -> float | None:
    if len(set(x.tolist())) < 2:
        return None
    from scipy.stats import kendalltau, theilslopes

    order = np.arange(len(x))
    if float(kendalltau(order, x).pvalue) >= DRIFT_LEVEL:
        return None
    return float(theilslopes(x, order).slope)
