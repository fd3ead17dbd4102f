"""Rank tests against published examples and SciPy."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from stillroom.analysis.panel.agreement import kendall_w
from stillroom.analysis.panel.ranks import durbin, friedman, rank_test, skillings_mack
from stillroom.analysis.panel.version_fit import CannotTell

# Conover (1999), Practical Nonparametric Statistics, p. 391: 7 people rank 3 of 7 ice creams each.
BLOCKS = [(1, 2, 4), (2, 3, 5), (3, 4, 6), (4, 5, 7), (1, 5, 6), (2, 6, 7), (1, 3, 7)]
RANKS = [(2, 3, 1), (3, 1, 2), (2, 1, 3), (1, 2, 3), (3, 1, 2), (3, 1, 2), (3, 1, 2)]


def _ice_creams() -> np.ndarray[tuple[int, int], np.dtype[np.float64]]:
    table = np.full((7, 7), np.nan)
    for person, (block, ranks) in enumerate(zip(BLOCKS, RANKS, strict=True)):
        table[person, np.array(block) - 1] = ranks
    return table


def test_friedman_of_a_taught_example() -> None:
    # 7 panelists, 6 samples, rank sums 7, 14, 21, 28, 36, 41: F = 34.5102, W = 0.98601.
    ranks = np.tile([1.0, 2, 3, 4, 5, 6], (7, 1))
    ranks[0] = [1, 2, 3, 4, 6, 5]
    assert ranks.sum(axis=0).tolist() == [7, 14, 21, 28, 36, 41]
    assert friedman(ranks).statistic == pytest.approx(34.5102, abs=1e-4)
    assert friedman(ranks).p == pytest.approx(1.884e-6, rel=1e-3)


def test_friedman_with_ties_is_scipys() -> None:
    scores = np.random.default_rng(1).integers(1, 6, (20, 4)).astype(float)
    expected = stats.friedmanchisquare(*scores.T)
    assert (friedman(scores).statistic, friedman(scores).p) == pytest.approx((expected.statistic, expected.pvalue))


def test_durbin_ice_creams_of_conover() -> None:
    found = rank_test(_ice_creams())
    assert (found.method, found.df) == ("Durbin", 6)
    assert (found.statistic, found.p) == pytest.approx((12.0, 0.061969), abs=1e-5)


def test_skillings_mack_is_friedman_when_complete_and_durbin_when_balanced() -> None:
    scores = np.random.default_rng(2).normal(size=(9, 5))
    assert skillings_mack(scores).statistic == pytest.approx(friedman(scores).statistic)
    assert skillings_mack(_ice_creams()).statistic == pytest.approx(durbin(_ice_creams()).statistic)


def test_unbalanced_panel_takes_skillings_mack() -> None:
    scores = np.random.default_rng(3).normal(size=(9, 5))
    scores[0, 1] = scores[3, 4] = np.nan
    found = rank_test(scores)
    assert (found.method, found.df) == ("Skillings-Mack", 4)


@pytest.mark.parametrize("scores", [np.full((4, 3), 5.0), np.array([[1.0, np.nan], [np.nan, 2.0]])])
def test_nothing_to_rank_is_said(scores: np.ndarray[tuple[int, int], np.dtype[np.float64]]) -> None:
    with pytest.raises(CannotTell, match="nobody"):
        rank_test(scores)


def test_ties_of_means_are_ties_whatever_their_last_digits() -> None:
    # Three repeats each, in tenths: the means are equal, their doubles are not.
    tied = np.array([(4.0 + 4.1 + 4.3) / 3, (4.0 + 4.0 + 4.4) / 3, 2.0])
    assert tied[0] != tied[1]
    scores = np.vstack([tied, [7.0, 7, 3], [6, 5, 4]])
    expected = np.array([[2.5, 2.5, 1], [2.5, 2.5, 1], [3, 2, 1]])
    assert friedman(scores).statistic == friedman(expected).statistic
    assert kendall_w(scores) == kendall_w(expected)


def test_people_who_rank_the_other_way_round_cancel_out_and_still_rank() -> None:
    scores = np.array([[1.0, 2, 3, np.nan], [3, 2, 1, np.nan], [np.nan, 1, 2, 3], [np.nan, 3, 2, 1]])
    found = skillings_mack(scores)
    assert (found.statistic, found.p) == pytest.approx((0.0, 1.0), abs=1e-12)


def test_rounding_times_of_hollander_and_wolfe() -> None:
    # Hollander & Wolfe (1973), p. 140, as in R's help of friedman.test: 22 players, 3 ways to round first base.
    times = np.array(
        [
            [5.40, 5.50, 5.55], [5.85, 5.70, 5.75], [5.20, 5.60, 5.50], [5.55, 5.50, 5.40], [5.90, 5.85, 5.70],
            [5.45, 5.55, 5.60], [5.40, 5.40, 5.35], [5.45, 5.50, 5.35], [5.25, 5.15, 5.00], [5.85, 5.80, 5.70],
            [5.25, 5.20, 5.10], [5.65, 5.55, 5.45], [5.60, 5.35, 5.45], [5.05, 5.00, 4.95], [5.50, 5.50, 5.40],
            [5.45, 5.55, 5.50], [5.55, 5.55, 5.35], [5.45, 5.50, 5.55], [5.50, 5.45, 5.25], [5.65, 5.60, 5.40],
            [5.70, 5.65, 5.55], [6.30, 6.30, 6.25],
        ]
    )  # fmt: skip
    assert (friedman(times).statistic, friedman(times).p) == pytest.approx((11.143, 0.003805), abs=1e-3)
