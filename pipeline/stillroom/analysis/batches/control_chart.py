"""Individuals and moving range: does a measurement stay within what it usually varies?"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

D2: Final = 1.128
D4: Final = 3.267
"""Published constants for ranges of two (ASTM MNL 7; Montgomery, Introduction to Statistical Quality Control)."""
LEAST: Final = 8
"""Measurements needed; common practice asks for twenty before limits are trusted."""


@dataclass(frozen=True, kw_only=True)
class ControlChart:
    """Limits and signals of a series of single measurements."""

    values: tuple[float, ...]
    middles: tuple[float, ...]
    """The level in force at each value."""
    mean_range: float
    range_high: float
    beyond: tuple[int, ...]
    """Places of values outside the limits about their level."""
    jumps: tuple[int, ...]
    """Places of values whose step from the one before, beyond that of the level, is above the range limit."""

    @property
    def middle(self) -> float:
        """The level in force now."""
        return self.middles[-1]

    @property
    def reach(self) -> float:
        """How far the limits lie from the level."""
        return 3 * self.mean_range / D2

    @property
    def low(self) -> float:
        """The lower limit in force now."""
        return self.middle - self.reach

    @property
    def high(self) -> float:
        """The upper limit in force now."""
        return self.middle + self.reach


def control_chart(values: Sequence[float], middles: Sequence[float] | None = None) -> ControlChart:
    """Chart for individuals: level +/- 3 mean moving range / d2.

    Source: Shewhart's limits as in NIST/SEMATECH e-Handbook 6.3.2.2. Where the level moved, ranges are those of what
    is left of the values about it.

    Args:
        values: in the order made.
        middles: the level in force at each; the mean of all when None.

    Raises:
        ValueError: fewer than `LEAST` values.
    """
    x = np.asarray(values, dtype=float)
    if len(x) < LEAST:
        raise ValueError(f"a control chart needs {LEAST} values, not {len(x)}")
    level = np.full(len(x), x.mean()) if middles is None else np.asarray(middles, dtype=float)
    left = x - level
    ranges = np.abs(np.diff(left))
    mean_range = float(ranges.mean())
    reach = 3 * mean_range / D2
    return ControlChart(
        values=tuple(x.tolist()),
        middles=tuple(level.tolist()),
        mean_range=mean_range,
        range_high=D4 * mean_range,
        # Readings that are all alike have no scatter to draw limits from.
        beyond=tuple(int(i) for i in np.flatnonzero((np.abs(left) > reach + 1e-9) & (reach > 0))),
        jumps=tuple(int(i) + 1 for i in np.flatnonzero(ranges > D4 * mean_range + 1e-9)),
    )
