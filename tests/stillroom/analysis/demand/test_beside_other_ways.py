"""A small part of `benchmarks.demand`: our forecasts beside plain ways, on processes with a known truth."""

import numpy as np
import pytest
from benchmarks.demand import OURS, Scores, level_of_28_days, ratio, scored, unevenness
from benchmarks.demand_processes import SIMULATED, drawn

from stillroom.analysis.demand.ways import mean_of_last_four

WAYS = {OURS: None, "mean of four": mean_of_last_four, "28-day level": level_of_28_days}


@pytest.mark.parametrize("name", SIMULATED)
def test_ahead_of_plain_ways_with_the_same_spread(name: str) -> None:
    scores = Scores()
    for seed in range(2):
        scored(drawn(name, seed), 8, WAYS, scores, seed)
    assert ratio(scores, "mean of four")[0] < 0.97
    assert ratio(scores, "28-day level")[0] < 1.02


def test_counts_fall_where_they_should_in_their_distributions() -> None:
    scores = Scores()
    for seed in range(3):
        scored(drawn("mixed spread", seed), 8, {OURS: None}, scores, seed)
    # 3 x 8 weeks x 42 counts, which share their days' luck; 2 % over twenty houses (docs/simulations.md).
    assert unevenness(scores) < 0.06
    assert np.concatenate(scores.transforms).mean() == pytest.approx(0.5, abs=0.04)
