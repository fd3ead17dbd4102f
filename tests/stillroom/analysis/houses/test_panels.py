"""Panels of many houses: one difference, the house a random effect."""

from __future__ import annotations

import numpy as np
import polars as pl
import pytest
from polars.testing import assert_frame_equal
from statsmodels.stats.meta_analysis import combine_effects

from stillroom.analysis.houses.panels import by_house, combined

# Nine laboratories' means, as statsmodels' own tests hold them, with the results of the R package metafor (method "PM")
# in statsmodels/stats/tests/results/results_meta.py.
MEANS = [61.00, 61.40, 62.21, 62.30, 62.34, 62.60, 62.70, 62.84, 65.90]
VARIANCES = [0.2025, 1.2100, 0.0900, 0.2025, 0.3844, 0.5625, 0.0676, 0.0225, 1.8225]


def test_the_mean_and_the_spread_are_those_of_metafor():
    ours = combined(MEANS, VARIANCES)
    assert ours is not None
    assert ours.spread**2 == pytest.approx(0.705395309224248, abs=1e-8)
    assert ours.difference == pytest.approx(62.4076199113286, abs=1e-8)


def test_the_interval_is_that_of_statsmodels_after_hartung_and_knapp():
    theirs = combine_effects(np.array(MEANS), np.array(VARIANCES), method_re="pm", use_t=True, atol=1e-10)
    ours = combined(MEANS, VARIANCES)
    assert ours is not None
    assert ours.interval() == pytest.approx(theirs.conf_int()[3], rel=1e-6)


def test_houses_that_agree_by_chance_are_no_surer_than_their_panels():
    ours = combined([0.5, 0.5, 0.5, 0.5], [0.04] * 4)
    assert ours is not None
    assert ours.spread == 0
    # Student's t with 3 degrees of freedom: 3.182 (any table).
    assert ours.interval()[1] - ours.difference == pytest.approx(3.182 * 0.1, abs=0.001)


def test_one_house_is_no_group():
    assert combined([0.5], [0.1]) is None


def scores(houses: int, gain: float, spread: float, rng: np.random.Generator) -> pl.DataFrame:
    rows = []
    for house in range(houses):
        own = gain + rng.normal(0, spread)
        for panelist in range(int(rng.integers(4, 10))):
            level = rng.normal(6, 1)
            rows += [
                {"house": f"h{house}", "panelist_number": panelist, "version": version, "score": score}
                for version, score in ((1, level + rng.normal(0, 0.7)), (2, level + own + rng.normal(0, 0.7)))
            ]
    return pl.DataFrame(rows)


def test_only_panelists_who_scored_both_count():
    frame = scores(3, 0.5, 0.0, np.random.default_rng(1))
    alone = pl.DataFrame({"house": ["h0"], "panelist_number": [99], "version": [2], "score": [9.0]})
    both = pl.concat([frame, alone.select(frame.columns).cast(dict(frame.schema))])
    assert_frame_equal(by_house(both, 2, 1), by_house(frame, 2, 1))


def test_false_alarms_of_panels_over_houses_are_one_in_twenty():
    rng = np.random.default_rng(8)
    told = 0
    for _ in range(300):
        found = by_house(scores(6, 0.0, 0.3, rng), 2, 1)
        one = combined(found["difference"].to_numpy(), found["variance"].to_numpy())
        assert one is not None
        told += one.p_value <= 0.05
    assert 0.01 <= told / 300 <= 0.09
