"""Where a smooth function of a few numbers is lowest within bounds: SciPy's L-BFGS-B finds the same, but importing
`scipy.optimize` takes longer than all that is sought here for a page."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]
Target = Callable[[Floats], tuple[float, Floats]]
"""Numbers -> the function's value there, and its slope by each of them."""

_ROUNDING: Final = 1e-12
"""Of a value: a step that goes down by no more is the last."""
_BESIDE: Final = 1e-14
"""Nearer to a bound than this is at it."""
_MOST: Final = 100
"""Steps, and halvings of one."""


def lowest(target: Target, start: npt.ArrayLike, low: npt.ArrayLike, high: npt.ArrayLike) -> tuple[Floats, float]:
    """The numbers between `low` and `high`, near those it starts from, at which the target is lowest; its value there.

    Newton's steps, never along a bound that they push against, each shortened to the first bound on its way and halved
    until it goes down enough (Armijo's rule): Nocedal & Wright (2006), *Numerical Optimization*, chapters 3 and 16. The
    curvature is taken from differences of the slope; where it bends down, its size counts.

    >>> place, value = lowest(lambda x: (float(((x - 3) ** 2).sum()), 2 * (x - 3)), [0, 0], [0, 0], [1, 9])
    >>> place.tolist(), round(value, 9)
    ([1.0, 3.0], 4.0)
    """
    low, high = np.asarray(low, float), np.asarray(high, float)
    at = np.clip(np.asarray(start, float), low, high)
    value, slope = target(at)
    for _ in range(_MOST):
        step = _step(target, at, slope, low, high)
        before, rounding = value, _ROUNDING * max(abs(value), 1.0)
        promised = float(slope @ step)
        for _ in range(_MOST):
            tried = at + step
            tried = np.where(tried < low + _BESIDE, low, np.where(tried > high - _BESIDE, high, tried))
            value_tried, slope_tried = target(tried)
            if value_tried <= value + 1e-4 * promised + rounding:
                break
            step, promised = step / 2, promised / 2
        at, value, slope = tried, value_tried, slope_tried
        if before - value <= rounding:
            break
    return at, value


def _step(target: Target, at: Floats, slope: Floats, low: Floats, high: Floats) -> Floats:
    """Newton's step among the numbers that are not held by a bound, as far as the first bound."""
    free = ~(((at <= low) & (slope > 0)) | ((at >= high) & (slope < 0)))
    curvature = _curvature(target, at, slope, free, high)
    while True:
        step = np.zeros(len(at))
        bends, ways = np.linalg.eigh(curvature[np.ix_(free, free)])
        bends = np.maximum(np.abs(bends), 1e-10 * np.abs(bends).max(initial=1e-10))
        step[free] = -ways @ (ways.T @ slope[free] / bends)
        stuck = free & (((at <= low) & (step < 0)) | ((at >= high) & (step > 0)))
        if not stuck.any():
            break
        free &= ~stuck
    room = np.where(step > 0, high - at, low - at)
    return step * min(1.0, float((room[step != 0] / step[step != 0]).min(initial=1.0)))


def _curvature(target: Target, at: Floats, slope: Floats, free: npt.NDArray[np.bool_], high: Floats) -> Floats:
    rows = np.zeros((len(at), len(at)))
    for number in np.flatnonzero(free):
        beside = at.copy()
        beside[number] += 1e-5 * max(abs(at[number]), 1e-4)
        if beside[number] > high[number]:
            beside[number] = 2 * at[number] - beside[number]
        rows[number] = (target(beside)[1] - slope) / (beside[number] - at[number])
    return (rows + rows.T) / 2
