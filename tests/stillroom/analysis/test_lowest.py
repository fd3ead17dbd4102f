"""The lowest places within bounds are SciPy's, or lower."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import optimize

from stillroom.analysis.lowest import Floats, Target, lowest


def theirs(target: Target, start: Floats, low: Floats, high: Floats) -> optimize.OptimizeResult:
    return optimize.minimize(
        target,
        start,
        jac=True,
        method="L-BFGS-B",
        bounds=list(zip(low, high, strict=True)),
        options={"ftol": 1e-15, "gtol": 1e-9},
    )


def test_of_bowls_cut_off_by_bounds_it_is_scipys() -> None:
    rng = np.random.default_rng(20261129)
    for _ in range(60):
        count = int(rng.integers(1, 5))
        bends = rng.normal(size=(count, count))
        bends, middle = bends @ bends.T + 0.1 * np.eye(count), rng.normal(0, 2, count)

        def bowl(x: Floats, bends: Floats = bends, middle: Floats = middle) -> tuple[float, Floats]:
            away = x - middle
            return float(away @ bends @ away + (away**4).sum()), 2 * bends @ away + 4 * away**3

        low, high = np.full(count, -1.0), rng.uniform(-0.5, 2, count)
        at, value = lowest(bowl, np.zeros(count), low, high)
        found = theirs(bowl, np.clip(np.zeros(count), low, high), low, high)
        np.testing.assert_allclose(at, found.x, atol=1e-6)
        assert value == pytest.approx(found.fun, rel=1e-9)


def test_it_comes_out_of_a_bent_valley() -> None:
    # Rosenbrock (1960), Comput. J. 3:175: from (-1.2, 1) to (1, 1).
    at, value = lowest(lambda x: (optimize.rosen(x), optimize.rosen_der(x)), [-1.2, 1.0], [-5, -5], [5, 5])
    np.testing.assert_allclose(at, 1, atol=1e-7)
    assert value == pytest.approx(0, abs=1e-12)
