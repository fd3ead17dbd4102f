"""Where a function crosses 0. SciPy's finders are the same to the last digits, but `scipy.optimize` takes a fifth of a
second to import: more than all that is sought here for a page."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Final

_MOST: Final = 200
"""Steps; halving alone passes through all doubles of one sign and size in 60."""


def root(function: Callable[[float], float], low: float, high: float, *, within: float = 1e-12) -> float:
    """The place between `low` and `high` where the function crosses 0, give or take `within` and rounding.

    Inverse quadratic interpolation where it is safe, else halving: Chandrupatla (1997), *Adv. Eng. Softw.* 28:145, but
    that the first step is along the chord.

    Raises:
        ValueError: it has the same sign at both ends.

    >>> round(root(lambda x: x * x - 2, 0, 2), 12)
    1.414213562373
    """
    near, far = float(low), float(high)
    at_near, at_far = function(near), function(far)
    if at_near == 0 or at_far == 0:
        return near if at_near == 0 else far
    if (at_near > 0) == (at_far > 0):
        raise ValueError("the function has the same sign at both ends")
    share = at_near / (at_near - at_far)
    for _ in range(_MOST):
        best = near if abs(at_near) < abs(at_far) else far
        least = (within + 2 * math.ulp(best)) / abs(far - near)
        if least > 0.5:
            break
        place = near + min(max(share, least), 1 - least) * (far - near)
        value = function(place)
        if value == 0:
            return place
        if (value > 0) == (at_near > 0):
            third, at_third = near, at_near
        else:
            third, at_third, far, at_far = far, at_far, near, at_near
        near, at_near = place, value
        share = _share(near, far, third, at_near, at_far, at_third)
    return near if abs(at_near) < abs(at_far) else far


def _share(near: float, far: float, third: float, at_near: float, at_far: float, at_third: float) -> float:
    """How far along from `near` to `far` to go: the parabola through three points where it is safe, else halfway."""
    across, up = (near - far) / (third - far), (at_near - at_far) / (at_third - at_far)
    if not (up**2 < across and (1 - up) ** 2 < 1 - across):
        return 0.5
    return at_near / (at_far - at_near) * at_third / (at_far - at_third) + (third - near) / (far - near) * at_near / (
        at_third - at_near
    ) * at_far / (at_third - at_far)
