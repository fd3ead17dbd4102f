"""Several p-values at once, corrected so that the risk of any false alarm stays what it is for one."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt


def holm(p: npt.ArrayLike) -> npt.NDArray[np.float64]:
    """Holm's step-down adjusted p-values (Holm 1979, *Scand. J. Stat.* 6:65), in the order given.

    >>> holm([0.01, 0.04, 0.03])
    array([0.03, 0.06, 0.06])
    """
    values = np.asarray(p, float)
    order = np.argsort(values, kind="stable")
    steps = values[order] * (len(values) - np.arange(len(values)))
    adjusted = np.empty_like(values)
    adjusted[order] = np.minimum(np.maximum.accumulate(steps), 1.0)
    return adjusted
