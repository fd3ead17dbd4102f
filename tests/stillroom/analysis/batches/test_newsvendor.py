"""The newsvendor against textbook examples."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import nbinom, norm, poisson

from stillroom.analysis.batches.newsvendor import best_quantity, critical_ratio, stocking

# Nahmias, newsstand example: 52 weeks of demand (data read; prices from memory)
NEWSSTAND = [15, 19, 9, 12, 9, 22, 14, 11, 6, 11, 9, 18, 10, 5, 4, 17, 18, 14, 15, 8, 9, 4, 6, 7, 12, 15, 15, 19, 4, 7]
NEWSSTAND += [8, 11, 0, 14, 12, 9, 10, 8, 9, 16, 8, 11, 11, 18, 15, 17, 19, 14, 14, 17, 13, 12]


def test_newsstand_of_nahmias() -> None:
    assert (np.mean(NEWSSTAND), np.std(NEWSSTAND, ddof=1)) == (
        pytest.approx(11.73, abs=5e-3),
        pytest.approx(4.74, abs=5e-3),
    )
    assert critical_ratio(0.50, 0.15) == pytest.approx(0.7692, abs=5e-5)
    assert best_quantity(norm(11.73, 4.74), 0.50, 0.15) == pytest.approx(15.22, abs=0.02)


def test_hammer_suit_of_cachon_and_terwiesch() -> None:
    demand = norm(3192, 1181)
    assert critical_ratio(190 - 110, 110 - 90) == pytest.approx(0.80)
    assert best_quantity(demand, 80, 20) == pytest.approx(4185.95, abs=0.1)
    found = stocking(demand, 4196, whole_numbers=False)
    assert (found.lost, found.sales, found.leftover) == (
        pytest.approx(129.85, abs=0.05),
        pytest.approx(3062.15, abs=0.05),
        pytest.approx(1133.85, abs=0.05),
    )
    assert (found.fill_rate, found.in_stock) == (pytest.approx(0.9593, abs=1e-4), pytest.approx(0.8024, abs=1e-4))
    assert 80 * found.sales - 20 * found.leftover == pytest.approx(222_295, abs=1)


def test_base_stock_of_snyder_and_shen() -> None:
    best = best_quantity(norm(50, 8), 0.70, 0.18)
    assert best == pytest.approx(56.604, abs=1e-3)
    found = stocking(norm(50, 8), best, whole_numbers=False)
    assert 0.18 * found.leftover + 0.70 * found.lost == pytest.approx(1.9976, abs=1e-3)


def test_magazines_of_cachon_and_terwiesch() -> None:
    assert stocking(poisson(4.25), 6, whole_numbers=True).sales == pytest.approx(3.9959, abs=1e-4)
    found = stocking(norm(80, 35), 100, whole_numbers=False)
    assert (found.leftover, found.sales) == (pytest.approx(26.18, abs=0.01), pytest.approx(73.82, abs=0.01))


def test_poisson_and_negative_binomial_optima() -> None:
    # E(Q - D)+ = Q P(D <= Q) - m P(D <= Q - 1), computed by that formula
    assert best_quantity(poisson(20), 4, 1) == 24
    found = stocking(poisson(20), 24, whole_numbers=True)
    assert (found.leftover, found.lost) == (pytest.approx(4.48760, abs=1e-4), pytest.approx(0.48760, abs=1e-4))
    assert best_quantity(poisson(6), 3, 1) == 8
    assert stocking(poisson(6), 8, whole_numbers=True).leftover == pytest.approx(2.31402, abs=1e-4)
    demand = nbinom(4, 4 / 14)  # mean 10, variance 10 + 100 / 4
    assert [best_quantity(demand, ratio, 1 - ratio) for ratio in (0.5, 0.75, 0.9)] == [9, 13, 18]
    found = stocking(demand, 13, whole_numbers=True)
    assert (found.leftover, found.sales) == (pytest.approx(4.27918, abs=1e-4), pytest.approx(8.72082, abs=1e-4))


@given(st.floats(0.1, 60), st.integers(0, 120))
def test_what_comes_in_goes_out(mean: float, quantity: int) -> None:
    found = stocking(poisson(mean), quantity, whole_numbers=True)
    assert found.sales + found.lost == pytest.approx(mean)
    assert found.sales + found.leftover == pytest.approx(quantity)


def test_nothing_to_gain_means_nothing_and_nothing_to_lose_is_refused() -> None:
    assert best_quantity(poisson(20), 0, 1) == 0
    assert best_quantity(poisson(20), -2, 1) == 0
    with pytest.raises(ValueError, match="must cost something"):
        best_quantity(poisson(20), 1, 0)
