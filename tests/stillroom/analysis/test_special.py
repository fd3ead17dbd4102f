"""Special functions of our own against SciPy's, on random numbers; and that a prep list is drawn up without SciPy."""

from __future__ import annotations

import sys

import numpy as np
import pytest
from scipy import special as scipy_special

from stillroom.analysis import negative_binomial
from stillroom.analysis.batches.making_plan import Costs, Lot, making_plan
from stillroom.analysis.demand.spread import Forecasted, measured_spread
from stillroom.analysis.special import CERTAIN, POINTS, log_gamma, normal_below

RNG = np.random.default_rng(20261129)


def test_the_logarithm_of_gamma_is_that_of_scipy() -> None:
    x = np.concatenate([10 ** RNG.uniform(-6, 9, 20_000), [1.0, 2.0, 10.0, np.nextafter(10, 0)]])
    np.testing.assert_allclose(log_gamma(x), scipy_special.gammaln(x), rtol=1e-13, atol=1e-13)


def test_the_probability_below_is_that_of_scipy() -> None:
    between = (np.arange(-8 * POINTS, 8 * POINTS) + 0.5) / POINTS  # as far from points as can be
    x = np.concatenate([RNG.normal(0, 4, 20_000), between, [-CERTAIN, CERTAIN, -40.0, 40.0]])
    np.testing.assert_allclose(normal_below(x), scipy_special.ndtr(x), rtol=0, atol=2e-15)


def test_a_list_is_drawn_up_without_scipy(monkeypatch: pytest.MonkeyPatch) -> None:
    """It takes as long to import as all the rest of a list to work out."""
    monkeypatch.setitem(sys.modules, "scipy", None)
    size, mean = np.full(20, 3.0), RNG.uniform(0.1, 60, 20)
    assert (negative_binomial.quantile(0.95, size, size / (size + mean)) >= 0).all()
    serves = RNG.poisson(9.0, (7, 4)).astype(float)
    weeks = [Forecasted(serves=serves, means=np.full((7, 4), 9.0), unsure=np.full(4, 0.01))] * 2
    assert measured_spread(weeks) is not None
    use = RNG.poisson(40.0, (200, 14)).astype(float)
    costs = Costs(waste=0.02, short=0.2, making=2.0)
    assert making_plan([Lot(amount=10, days=2)], use, keeps=5, next_making=1, step=50, costs=costs).size > 0
