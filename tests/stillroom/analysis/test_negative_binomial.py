"""The negative binomial against SciPy's own distribution, where sizes and means are far apart."""

from __future__ import annotations

import numpy as np
from scipy.stats import nbinom

from stillroom.analysis.negative_binomial import cumulative, quantile

RNG = np.random.default_rng(20260301)
SIZE, MEAN = 10 ** RNG.uniform(-2, 4, 5000), 10 ** RNG.uniform(-3, 4, 5000)
CHANCE = SIZE / (SIZE + MEAN)


def test_quantiles_are_those_of_scipy() -> None:
    for probability in (0.001, 0.05, 0.1, 0.25, 0.5, 0.75, 0.9, 0.95, 0.999):
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
