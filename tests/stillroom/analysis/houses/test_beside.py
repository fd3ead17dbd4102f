"""Houses' shares beside each other: pooled, with funnel limits, and ranked."""

from __future__ import annotations

import numpy as np
import polars as pl
import pytest
from benchmarks.beside import batches, found, serves, unlike

from stillroom.analysis.houses.funnel import funnel, outside
from stillroom.analysis.houses.league import by_house, by_preparation
from stillroom.analysis.houses.pooling import log_likelihood, pool, rank_ranges
from stillroom.analysis.houses.scatter import summed, worth

# Tumours in 71 groups of rats: Tarone 1982, Biometrics 38:215, as Gelman et al. 2013, Bayesian Data Analysis,
# table 5.1, print them.
TUMOURS = np.array(
    [0] * 14 + [1] * 8 + [2] * 9
    + [1, 5, 2, 5, 3, 2, 7, 7, 3, 3, 2, 9, 10, 4, 4, 4, 4, 4, 4, 4, 10, 4, 4, 4, 5, 11, 12, 5, 5, 6, 5, 6, 6, 6, 6]
    + [16, 15, 15, 9, 4],
    float,
)  # fmt: skip
RATS = np.array(
    [20] * 7 + [19] * 4 + [18, 18, 17, 20, 20, 20, 20, 19, 19, 18, 18, 25, 24, 23, 20, 20, 20, 20, 20, 20]
    + [10, 49, 19, 46, 27, 17, 49, 47, 20, 20, 13, 48, 50, 20, 20, 20, 20, 20, 20, 20, 48, 19, 19, 19, 22, 46, 49]
    + [20, 20, 23, 19, 22, 20, 20, 20, 52, 46, 47, 24, 14],
    float,
)  # fmt: skip


def test_the_best_parameters_are_those_of_another_package():
    """R package BayesGOF, its vignette: gMLE.bb of the first 70 groups gives 2.304768 and 14.079707."""
    a, b = 2.304768, 14.079707
    near = np.array([(a, b), (1.01 * a, b), (0.99 * a, b), (a, 1.01 * b), (a, 0.99 * b)])
    found_at = log_likelihood(TUMOURS[:70], RATS[:70], near[:, 0], near[:, 1])
    assert found_at.argmax() == 0


def test_groups_of_rats_are_drawn_to_each_other_as_in_the_handbook():
    """Bayesian Data Analysis, section 5.3, gives the mean of the parameters as 2.4 and 14.3 (from memory)."""
    pooled = pool(TUMOURS, RATS)
    assert pooled.group == pytest.approx(2.4 / (2.4 + 14.3), abs=0.003)
    # The last group, 4 of 14, is drawn a good half of the way: by 14.3 + 2.4 animals against its 14.
    assert pooled.mean[-1] == pytest.approx((4 + 2.4) / (14 + 2.4 + 14.3), abs=0.005)
    assert (pooled.low < pooled.mean).all()
    assert (pooled.mean < pooled.high).all()


def test_all_or_nothing_units_are_worth_their_number():
    rng = np.random.default_rng(4)
    rows = pl.DataFrame(
        {
            "house": [f"h{at % 20}" for at in range(2000)],
            "whole": np.ones(2000),
            "part": (rng.uniform(size=2000) < 0.2).astype(float),
        }
    )
    assert worth(summed(rows)) == pytest.approx(np.full(20, 100.0), rel=0.1)


def test_units_that_move_together_are_worth_fewer():
    """The design effect of a beta-binomial: 1 + (m - 1) rho (Kish 1965, from memory), here 1 + 99 x 0.1."""
    rng = np.random.default_rng(5)
    chance = rng.beta(0.2 * 9, 0.8 * 9, 3000)
    rows = pl.DataFrame(
        {
            "house": [f"h{at % 20:02}" for at in range(3000)],
            "whole": np.full(3000, 100.0),
            "part": rng.binomial(100, chance).astype(float),
        }
    )
    assert np.median(worth(summed(rows))) == pytest.approx(150 * 100 / (1 + 99 * 0.1), rel=0.1)


def test_a_house_of_three_batches_is_not_told_from_the_rest_by_one_loss():
    houses = [(f"h{at:02}", 1.0 if batch % 10 == 0 else 0.0) for at in range(20) for batch in range(60)]
    houses += [("small", 1.0), ("small", 0.0), ("small", 0.0)]
    sums = summed(pl.DataFrame(houses, schema=["house", "part"], orient="row").with_columns(whole=1.0))
    share, of_worth = (sums["part"] / sums["whole"]).to_numpy(), worth(sums)
    of = funnel(share, of_worth)
    assert of is not None
    assert sums["house"][int(share.argmax())] == "small"
    assert not any(outside(share, of_worth, of))
    pooled = pool(share * of_worth, of_worth)
    assert pooled.mean[-1] < 0.15


def test_chance_alone_is_no_overdispersion_and_a_difference_between_houses_is():
    rng = np.random.default_rng(6)
    many = np.full(400, 200.0)
    alike = funnel(rng.binomial(200, 0.2, 400) / 200, many)
    apart = funnel(rng.binomial(200, rng.beta(20, 80, 400)) / 200, many)
    assert alike is not None
    assert apart is not None
    assert alike.overdispersion == pytest.approx(1, abs=0.2)
    # On the scale of the arcsine a standard deviation of s is s / (2 sqrt(p (1 - p))).
    assert apart.spread == pytest.approx(np.sqrt(0.2 * 0.8 / 101) / (2 * 0.4), rel=0.25)


def test_few_houses_have_no_funnel():
    assert funnel(np.full(4, 0.2), np.full(4, 30.0)) is None


def test_nothing_lost_anywhere_is_no_fault():
    pooled = pool(np.zeros(8), np.full(8, 20.0))
    assert (pooled.mean < 0.02).all()
    assert (pooled.high < 0.1).all()


@pytest.mark.parametrize("units", [batches, serves])
def test_a_house_is_seldom_named_by_chance_and_its_interval_is_mostly_right(units):
    """The program of docs/simulations.md, in fewer groups."""
    one = found(30, unlike, units, groups=40)
    assert one.named <= 0.15  # 5 % and three standard errors of 40 groups
    assert one.lowest >= 0.3
    assert one.held >= 0.88


def test_a_league_has_ranges_of_ranks_and_the_sum_of_what_is_lost():
    rng = np.random.default_rng(7)
    rows = [
        {
            "house": f"h{at}",
            "preparation": name,
            "whole": 10.0,
            "part": 10.0 * (rng.uniform() < (0.5 if at == 3 else 0.1)),
        }
        for at in range(10)
        for name in ("cordial", "shrub")
        for _ in range(30)
    ]
    frame = pl.DataFrame(rows)
    league = by_house(summed(frame))
    assert league["house"][0] == "h3"
    assert league["rank_low"][0] == league["rank_high"][0] == 1
    assert league["rank_high"][5] - league["rank_low"][5] >= 4
    assert league["lost"].sum() == pytest.approx(frame["part"].sum())
    by_what = by_preparation(summed(frame, "preparation"))
    assert by_what["lost"].sum() == pytest.approx(frame["part"].sum())
    assert by_what["lost"].is_sorted(descending=True)
    assert set(by_what["most"]) == {"h3"}


def test_ranks_are_the_same_at_every_run():
    pooled = pool(np.array([1.0, 5, 9]), np.array([20.0, 20, 20]))
    assert (rank_ranges(pooled)[0] == rank_ranges(pooled)[0]).all()
