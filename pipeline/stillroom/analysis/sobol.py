"""Points that fill their space evenly: Sobol's sequence, scrambled.

SciPy has it, in a package that takes a third of a second to import; the tests hold both equal, point by point.
"""

from __future__ import annotations

from typing import Final

import numpy as np
import numpy.typing as npt

BITS: Final = 30
ONE: Final = np.uint32(1)
_DIRECTIONS: Final = (
    *((3, 1), (7, 1, 3), (11, 1, 3, 1), (13, 1, 1, 1), (19, 1, 1, 3, 3), (25, 1, 3, 5, 13), (37, 1, 1, 5, 5, 17)),
    *((41, 1, 1, 5, 5, 5), (47, 1, 1, 7, 11, 19), (55, 1, 1, 5, 1, 1), (59, 1, 1, 1, 3, 11), (61, 1, 3, 5, 5, 31)),
    *((67, 1, 3, 3, 9, 7, 49), (91, 1, 1, 1, 15, 21, 21), (97, 1, 3, 1, 13, 27, 49), (103, 1, 1, 1, 15, 7, 5)),
    *((109, 1, 3, 1, 15, 13, 25), (115, 1, 1, 5, 5, 19, 61), (131, 1, 3, 7, 11, 23, 15, 103)),
    *((137, 1, 3, 7, 13, 13, 15, 69), (143, 1, 1, 3, 13, 7, 35, 63), (145, 1, 3, 5, 9, 1, 25, 53)),
)
"""Of each dimension after the first: its primitive polynomial (as bits) and first direction numbers."""
MOST: Final = len(_DIRECTIONS) + 1
"""Dimensions that the table reaches to."""


def sobol(dimensions: int, power: int) -> npt.NDArray[np.float64]:
    """2**power points of the unit cube, the same ones every time; shape (2**power, dimensions).

    Direction numbers: Joe & Kuo (2008), *SIAM J. Sci. Comput.* 30:2635; scrambled by random lower triangular matrices
    and a shift (Matoušek 1998, *J. Complexity* 14:527), seeded with 0.

    >>> sobol(2, 4).shape
    (16, 2)
    """
    if dimensions > MOST:
        from scipy.stats import qmc

        return np.asarray(qmc.Sobol(dimensions, rng=np.random.default_rng(0)).random_base2(power))
    (rng,) = np.random.default_rng(0).spawn(1)
    shift = _numbers(rng.integers(2, size=(dimensions, BITS), dtype=np.uint32)[:, ::-1])
    lower = np.tril(rng.integers(2, size=(dimensions, BITS, BITS), dtype=np.uint32))
    lower[:, range(BITS), range(BITS)] = 1
    # A bit of a scrambled direction is the parity of those bits of the plain one that its row of the matrix names.
    scrambled = _numbers((_bits(_directions(dimensions, power)) @ lower.transpose(0, 2, 1)) & ONE)
    points = shift[None]
    for place in range(power):  # in Gray code order the second half is the first one backwards, a direction on
        points = np.concatenate([points, points[::-1] ^ scrambled[:, place]])
    return points / 2.0**BITS


def _directions(dimensions: int, count: int) -> npt.NDArray[np.uint32]:
    """The first direction numbers of each dimension, shape (dimensions, count)."""
    rows = [[1] * count]
    for polynomial, *row in _DIRECTIONS[: dimensions - 1]:
        degree = len(row)
        for place in range(degree, count):
            new = row[place - degree]
            for back in range(1, degree + 1):
                if polynomial >> (degree - back) & 1:
                    new ^= row[place - back] << back
            row.append(new)
        rows.append(row[:count])
    return np.array(rows, dtype=np.uint32) << np.arange(BITS - 1, BITS - 1 - count, -1, dtype=np.uint32)


def _bits(numbers: npt.NDArray[np.uint32]) -> npt.NDArray[np.uint32]:
    """The bits of numbers, largest first, along an axis more."""
    return (numbers[..., None] >> np.arange(BITS - 1, -1, -1, dtype=np.uint32)) & ONE


def _numbers(bits: npt.NDArray[np.uint32]) -> npt.NDArray[np.uint32]:
    return np.asarray((bits << np.arange(BITS - 1, -1, -1, dtype=np.uint32)).sum(axis=-1, dtype=np.uint32))
