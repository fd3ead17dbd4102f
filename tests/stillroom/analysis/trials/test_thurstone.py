"""d' against the printed tables of Ennis (1993), *J. Sens. Stud.* 8:353, and the integrals done again by SciPy."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import integrate, stats

from stillroom.analysis.trials.thurstone import METHODS, d_prime, d_prime_at, share_right

SHARES = {
    0.0: {"triangle": 0.3333, "duo-trio": 0.5, "2-AFC": 0.5, "3-AFC": 0.3333, "tetrad": 0.3333},
    0.5: {"triangle": 0.3558, "duo-trio": 0.5223, "2-AFC": 0.6382, "3-AFC": 0.4826, "tetrad": 0.3777},
    1.0: {"triangle": 0.4180, "duo-trio": 0.5825, "2-AFC": 0.7602, "3-AFC": 0.6337, "tetrad": 0.4938},
    2.0: {"triangle": 0.6048, "duo-trio": 0.7468, "2-AFC": 0.9214, "3-AFC": 0.8658, "tetrad": 0.7777},
    3.0: {"triangle": 0.7814, "duo-trio": 0.8765, "2-AFC": 0.9831, "3-AFC": 0.9688, "tetrad": 0.9430},
}
BACK = {
    0.4: {"triangle": 0.879, "duo-trio": 0, "2-AFC": 0, "3-AFC": 0.229},
    0.5: {"triangle": 1.466, "duo-trio": 0, "2-AFC": 0, "3-AFC": 0.557},
    0.6: {"triangle": 1.976, "duo-trio": 1.115, "2-AFC": 0.358, "3-AFC": 0.885},
    0.75: {"triangle": 2.797, "duo-trio": 2.020, "2-AFC": 0.954, "3-AFC": 1.434},
    0.9: {"triangle": 4.028, "duo-trio": 3.263, "2-AFC": 1.812, "3-AFC": 2.230},
}


@pytest.mark.parametrize("d", SHARES)
def test_share_of_right_answers(d: float) -> None:
    assert {method: share_right(d, method) for method in SHARES[d]} == pytest.approx(SHARES[d], abs=1e-4)


@pytest.mark.parametrize("right", BACK)
def test_d_prime_of_a_share(right: float) -> None:
    assert {method: d_prime_at(right, method) for method in BACK[right]} == pytest.approx(BACK[right], abs=2e-3)


def test_triangle_is_the_chance_that_the_odd_one_lies_farthest() -> None:
    # Ura (1960), by adaptive quadrature instead of fixed nodes.
    d = 1.7

    def density(u: float) -> float:
        wide = np.sqrt(3) * u
        near = stats.norm.cdf(-wide + d * np.sqrt(2 / 3)) + stats.norm.cdf(-wide - d * np.sqrt(2 / 3))
        return float(2 * near * stats.norm.pdf(u))

    assert share_right(d, "triangle") == pytest.approx(integrate.quad(density, 0, np.inf)[0], abs=1e-9)


def test_interval_holds_the_value_and_the_standard_error_is_the_delta_methods() -> None:
    found = d_prime(8, 12, "triangle")
    assert found.high is not None
    assert found.low < found.value < found.high
    slope = (share_right(found.value + 1e-3, "triangle") - share_right(found.value - 1e-3, "triangle")) / 2e-3
    assert found.se == pytest.approx(np.sqrt(8 / 12 * 4 / 12 / 12) / slope, rel=1e-4)


@pytest.mark.parametrize("method", METHODS)
def test_at_or_below_guessing_d_prime_is_nought_without_a_standard_error(method: str) -> None:
    found = d_prime(2, 12, method)
    assert (found.value, found.se, found.low) == (0.0, None, 0.0)


@pytest.mark.parametrize("method", METHODS)
def test_all_right_has_no_upper_limit(method: str) -> None:
    found = d_prime(12, 12, method)
    assert (found.value, found.se, found.high) == (None, None, None)
    assert found.low > 0
