"""The negative binomial against SciPy's own distribution, where sizes and means are far apart."""

from __future__ import annotations

import sys

import numpy as np
import pytest
from scipy.stats import nbinom

from stillroom.analysis.negative_binomial import cumulative, quantile

RNG = np.random.default_rng(20260301)
SIZE, MEAN = 10 ** RNG.uniform(-2, 4, 5000), 10 ** RNG.uniform(-3, 4, 5000)
CHANCE = SIZE / (SIZE + MEAN)
PROBABILITIES = (0.001, 0.05, 0.1, 0.25, 0.5, 0.75, 0.9, 0.95, 0.999)


def test_quantiles_are_those_of_scipy() -> None:
    for probability in PROBABILITIES:
        assert quantile(probability, SIZE, CHANCE).tolist() == nbinom.ppf(probability, SIZE, CHANCE).tolist()


def test_probabilities_that_a_count_meets_exactly_give_that_count() -> None:
    counts = RNG.integers(0, 40, len(SIZE)).astype(float)
    met = cumulative(counts, SIZE, CHANCE)
    told = (met > 1e-6) & (met < 1 - 1e-6)  # where neighbours differ by more than their last digits
    assert told.sum() > 1000
    assert quantile(met, SIZE, CHANCE)[told].tolist() == counts[told].tolist()


def test_cumulative_probabilities_are_those_of_scipy() -> None:
    for count in (-1, 0, 1, 7, 100):
        np.testing.assert_allclose(
            cumulative(count, SIZE, CHANCE), nbinom.cdf(count, SIZE, CHANCE), rtol=1e-12, atol=1e-300
        )


def test_of_few_serves_they_are_summed_up_and_the_same(monkeypatch: pytest.MonkeyPatch) -> None:
    """Those of a few drinks' days, and of a spread that is hardly one: without SciPy's special functions."""
    mean = 10 ** RNG.uniform(-3, 2, (20, 7, 9))
    size = np.where(RNG.random(mean.shape) < 0.2, 1e5, 10 ** RNG.uniform(-1, 3, mean.shape))
    chance = size / (size + mean)
    monkeypatch.setitem(sys.modules, "scipy", None)
    for one, its_chance in zip(size, chance, strict=True):
        for probability in PROBABILITIES:
            found = quantile(probability, one, its_chance)
            assert found.tolist() == nbinom.ppf(probability, one, its_chance).tolist()
        for count in (-1, 0, 3, 200):
            expected = nbinom.cdf(count, one, its_chance)
            np.testing.assert_allclose(cumulative(count, one, its_chance), expected, rtol=1e-10, atol=1e-300)
