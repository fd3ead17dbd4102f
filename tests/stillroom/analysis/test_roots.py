"""Crossings of 0 are where SciPy finds them."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import optimize

from stillroom.analysis.roots import root

CURVES = {
    "steep": lambda x, at: math.exp(6 * x) - math.exp(6 * at),
    "flat where it crosses": lambda x, at: (x - at) ** 3,
    "falling": lambda x, at: math.atan(20 * (at - x)),
    "a step": lambda x, at: 1.0 if x > at else -1.0,
    "without end on one side": lambda x, at: math.inf if x > at + 1 else x - at,
}


@pytest.mark.parametrize("curve", CURVES)
def test_crossings_are_those_of_scipy(curve: str) -> None:
    rng = np.random.default_rng(20261129)
    for at in rng.uniform(-2, 2, 40).tolist():
        low, high = at - rng.uniform(0.01, 3), at + rng.uniform(0.01, 3)

        def function(x: float, at: float = at) -> float:
            return CURVES[curve](x, at)

        theirs = at if {"end", "flat"} & set(curve.split()) else optimize.brentq(function, low, high, xtol=1e-14)
        assert root(function, low, high) == pytest.approx(theirs, abs=1e-5 if "flat" in curve else 5e-12)


def test_an_end_may_be_the_crossing_and_no_crossing_is_refused() -> None:
    assert (root(lambda x: x, 0, 1), root(lambda x: x - 1, 0, 1)) == (0, 1)
    with pytest.raises(ValueError, match="same sign"):
        root(lambda x: x + 2, 0, 1)
