"""How sure a place on the menu map is, on seasons whose truth is known."""

from datetime import date, timedelta

import numpy as np
import polars as pl
import pytest
from benchmarks.menu_map import sure
from scipy.stats import beta

from stillroom.analysis.menu.place import Choices, clear_of, dispersion, share_ends, shares_of_choice
from stillroom.analysis.menu.season import season_figures
from store_frames import frame

FIRST = date(2026, 9, 1)


def test_three_days_on_the_menu_are_not_the_sample_of_a_season() -> None:
    """By the season's serves, most drinks that sell exactly what the mark asks were called clear of it."""
    at, _, before = sure("busy evenings", 3, 1.0, 40)
    assert before > 0.5
    # At most 7 % of 40 by right; more than six would come about less than once in 40 times (binomial).
    assert at <= 6 / 40


def test_what_sells_thirty_percent_more_than_the_mark_all_season_is_seen() -> None:
    above, _, _ = sure("busy evenings", 90, 1.3, 20)
    assert above >= 0.8


def figures(costs: list[tuple[str, date, float]]) -> pl.DataFrame:
    """Of ninety even days on which every drink sells ten serves at 11, by what a serve costs from a day on."""
    names = list(dict.fromkeys(name for name, _, _ in costs))
    sold = frame(
        "daily_serves",
        [("bar", FIRST + timedelta(days=day), name, 1, 10.0, 110.0) for day in range(90) for name in names],
        "venue business_date spec version serves net_amount",
    )
    spec = frame(
        "current_spec",
        [(name, "drink", FIRST, None) for name in names],
        "spec kind in_service_from in_service_until",
    )
    cost = frame(
        "spec_cost",
        [(name, 1, day, one, one, None) for name, day, one in costs],
        "spec version priced_from cost cost_known missing",
    )
    return season_figures(sold, spec, cost, FIRST, FIRST + timedelta(days=89)).drinks.sort("spec")


def test_a_few_cents_under_the_average_earn_near_the_mark() -> None:
    left = {"A": 7.86, "B": 7.87, "C": 7.88, "D": 7.90, "E": 7.91, "F": 7.92, "G": 9.29}  # on average 8.09
    found = figures([(name, FIRST, 11 - one) for name, one in left.items()])
    assert found["earns_well"].to_list() == [False] * 6 + [True]
    assert found["earns_clear"].to_list() == [False] * 6 + [True]
    assert found["does"].to_list() == ["sells well, earns near the mark"] * 6 + ["sells well, earns well"]


def test_a_cost_that_moved_across_the_average_is_near_it() -> None:
    found = figures([("A", FIRST, 2.0), ("A", FIRST + timedelta(days=60), 7.0), ("B", FIRST, 5.0)])
    row = found.row(0, named=True)
    assert (row["contribution_low"], row["contribution_high"]) == pytest.approx((4.0, 9.0))
    assert not row["earns_clear"]


def test_shares_beside_the_drinks_that_were_there() -> None:
    """Four alike drinks, of which one came for the second half, whether it took its serves from the others or not."""
    there = np.ones((40, 4), dtype=bool)
    there[:20, 3] = False
    for added in (True, False):
        serves = np.where(there, 6.0, 0.0)
        if not added:
            serves[:20, :3] = 8.0
        found = Choices(drinks=tuple("abcd"), weeks=np.arange(40) // 7, serves=serves, there=there)
        shares, _ = shares_of_choice(found)
        assert shares == pytest.approx([0.25] * 4, abs=1e-6)


def test_the_interval_is_jeffreys_where_nothing_varies_beyond_chance() -> None:
    found = Choices(
        drinks=("a", "b"), weeks=np.zeros(1), serves=np.array([[30.0, 70.0]]), there=np.ones((1, 2), dtype=bool)
    )
    low, high = share_ends(found, np.array([0.3, 0.7]), np.ones(2))
    assert (low[0], high[0]) == pytest.approx(beta.ppf([0.025, 0.975], 30.5, 70.5), abs=1e-4)


def test_variation_beyond_chance_is_found_for_each_drink() -> None:
    generator = np.random.default_rng(8)
    mean = np.full((400, 3), 20.0)
    mean[:, 0] *= generator.gamma(2, 0.5, 400)
    found = Choices(
        drinks=tuple("abc"),
        weeks=np.arange(400) // 7,
        serves=generator.poisson(mean).astype(float),
        there=np.ones((400, 3), dtype=bool),
    )
    shares, _ = shares_of_choice(found)
    varied = dispersion(found, shares)
    assert varied[0] > 1.5 * varied[1]


def test_a_near_tie_is_near_however_narrow_its_interval() -> None:
    assert not clear_of(1.04, 1.03, 1.05, 1.0)
    assert clear_of(1.06, 1.05, 1.07, 1.0)
    assert not clear_of(1.5, 0.9, 2.1, 1.0)
