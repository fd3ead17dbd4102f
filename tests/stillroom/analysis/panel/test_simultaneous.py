"""Simultaneous p-values against SciPy and the published tables in print."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from stillroom.analysis.panel.simultaneous import (
    many_to_one_critical,
    many_to_one_sf,
    product_loadings,
    studentized_range_critical,
    studentized_range_sf,
)


@pytest.mark.parametrize(("count", "df"), [(2, 1), (3, 2), (4, 12), (12, 1089), (30, 60)])
def test_studentized_range_is_scipys(count: int, df: float) -> None:
    q = np.array([0.5, 2.0, 4.0, 8.0])
    assert studentized_range_sf(q, count, df) == pytest.approx(stats.studentized_range.sf(q, count, df), abs=1e-7)


def test_studentized_range_takes_degrees_of_freedom_one_by_one() -> None:
    together = studentized_range_sf([2.0, 3.0], 4, [9.5, 200.0])
    assert together == pytest.approx([stats.studentized_range.sf(2, 4, 9.5), stats.studentized_range.sf(3, 4, 200)])


def test_critical_value_of_the_range_is_the_printed_one() -> None:
    # q(.05; 4, 12) = 4.1987, R TukeyHSD on the penicillin example of Box, Hunter & Hunter.
    assert studentized_range_critical(4, 12.0) == pytest.approx(4.1987, abs=5e-5)


def test_dunnett_1955_blood_counts() -> None:
    # Dunnett (1955), blood counts, 12 df; p .6201 and .0059 as SciPy's page of `dunnett` prints them.
    loadings = tuple(float(np.sqrt(n / (n + 6))) for n in (4, 5))
    assert many_to_one_sf([0.8570, 3.6938], loadings, 12) == pytest.approx([0.6201, 0.0059], abs=1e-3)


def test_many_to_one_is_scipys_multivariate_t() -> None:
    loadings = (0.7, 0.6, 0.8)
    shape = np.outer(loadings, loadings)
    np.fill_diagonal(shape, 1)
    t = 2.2
    expected = 1 - stats.multivariate_t(shape=shape, df=9).cdf(
        [t] * 3, lower_limit=[-t] * 3, maxpts=10**6, random_state=1
    )
    assert many_to_one_sf([t], loadings, 9)[0] == pytest.approx(expected, abs=2e-5)


def test_critical_value_against_one_is_the_printed_one() -> None:
    # Dunnett (1964) table, two-sided 5 %, 3 comparisons, 12 df: 2.68 (from memory; scipy's multivariate t agrees).
    assert many_to_one_critical((0.5**0.5,) * 3, 12.0) == pytest.approx(2.68, abs=5e-3)


def test_one_comparison_is_students_t() -> None:
    assert many_to_one_sf([2.0], (0.0,), 7)[0] == pytest.approx(2 * stats.t.sf(2.0, 7))


def test_loadings_of_three_comparisons_are_exact() -> None:
    loadings = np.array([0.5, 0.7, 0.65])
    assert product_loadings(np.outer(loadings, loadings) + np.diag(1 - loadings**2)) == pytest.approx(
        loadings, abs=1e-5
    )


def test_critical_values_are_exceeded_as_often_as_they_should_be() -> None:
    rng = np.random.default_rng(20261129)
    for _ in range(40):
        df, alpha = float(rng.uniform(2, 300)), float(rng.choice([0.05, 0.01, 1e-3]))
        loadings = tuple(rng.uniform(0, 0.95, rng.integers(1, 7)).tolist())
        assert many_to_one_sf(many_to_one_critical(loadings, df, alpha), loadings, df)[0] == pytest.approx(alpha, 1e-6)
        count = int(rng.integers(2, 9))
        range_at = studentized_range_critical(count, df, alpha)
        assert studentized_range_sf(range_at, count, df)[0] == pytest.approx(alpha, 1e-6)


def test_where_quadrature_cannot_tell_bonferronis_bound_stands() -> None:
    assert many_to_one_critical((0.7,) * 3, 1.0, 1e-9) == pytest.approx(stats.t.isf(1e-9 / 6, 1))
