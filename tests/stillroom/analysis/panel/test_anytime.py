"""Planned and unplanned looks."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import integrate, stats

from stillroom.analysis.panel.anytime import anytime_critical, anytime_p, look_levels


@pytest.mark.parametrize(
    ("looks", "bounds"),
    [(1, [1.960]), (2, [2.963, 1.969]), (3, [3.710, 2.511, 1.993]), (5, [4.877, 3.357, 2.680, 2.290, 2.031])],
)
def test_levels_of_planned_looks_are_the_published_bounds(looks: int, bounds: list[float]) -> None:
    # Lan & DeMets' spending after O'Brien & Fleming, two-sided 5 %, equal steps: printed tables, from memory.
    assert [stats.norm.isf(level / 2) for level in look_levels(looks)] == pytest.approx(bounds, abs=2e-3)


def test_the_e_value_is_the_integral_over_the_effects_it_bets_on() -> None:
    # Bayes factor of a t statistic: noncentral t averaged over a normal effect, against the central one.
    t, n, df = 3.2, 9, 8

    def weighed(effect: float) -> float:
        return float(stats.nct.pdf(t, df, effect * np.sqrt(n)) * stats.norm.pdf(effect))

    factor = integrate.quad(weighed, -6, 6)[0] / stats.t.pdf(t, df)
    assert anytime_p(t, n, df) == pytest.approx(1 / factor, rel=1e-6)


@pytest.mark.parametrize(("blocks", "df", "alpha"), [(12, 11, 0.05), (30, 58, 0.01)])
def test_the_critical_value_is_where_p_is_alpha(blocks: int, df: int, alpha: float) -> None:
    assert anytime_p(anytime_critical(blocks, df, alpha), blocks, df) == pytest.approx(alpha)


def test_so_few_that_no_difference_counts() -> None:
    assert anytime_critical(2, 1, 0.05) == float("inf")
