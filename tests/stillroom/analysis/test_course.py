"""Level, step or slope, on series with a known truth and against published change points."""

import numpy as np
import pytest
from statsmodels.datasets import nile

from stillroom.analysis.course import course


def test_the_flow_of_the_nile_steps_down_in_1899() -> None:
    """Annual flow at Aswan 1871-1970 (Cobb 1978, Biometrika 65:243; data of statsmodels): less from 1899 on."""
    flow = nile.load().data
    found = course(flow["volume"].to_numpy()).told()
    assert found.kind == "step"
    assert [int(flow["year"].iloc[place]) for place in found.steps] == [1899]


def test_a_series_that_keeps_its_level_is_seldom_told_to_move() -> None:
    """Five in a hundred by right, whatever the values' distribution and whatever is known to have changed."""
    generator = np.random.default_rng(2)
    kinds = []
    for number in range(120):
        kinds.append(course(generator.normal(30, 0.5, 20), known=(10,) if number % 2 else ()).told().kind)
        kinds.append(course(np.round(generator.standard_t(2, 12), 1)).told().kind)
    # 5 % of 240 is 12; more than 22 less than once in 300 times (binomial).
    assert sum(kind != "level" for kind in kinds) <= 22


def test_a_step_is_a_step_and_dated() -> None:
    generator = np.random.default_rng(3)
    steps = [course(generator.normal(30, 0.8, 20) + 3 * (np.arange(20) >= 12)).told() for _ in range(20)]
    assert sum(one.kind == "step" for one in steps) >= 19
    assert sum(one.steps == (12,) for one in steps) >= 12


def test_a_slope_is_a_slope() -> None:
    generator = np.random.default_rng(4)
    slopes = [course(generator.normal(30, 0.8, 24) + 0.24 * np.arange(24)).told() for _ in range(20)]
    assert sum(one.kind == "slope" for one in slopes) >= 17
    assert np.mean([one.slope for one in slopes]) == pytest.approx(0.24, abs=0.03)


def test_there_and_back_are_two_steps() -> None:
    generator = np.random.default_rng(5)
    found = course(generator.normal(30, 0.5, 30) + 2 * ((np.arange(30) >= 10) & (np.arange(30) < 18))).told()
    assert found.steps == (10, 18)
    assert found.since == 18


def test_what_is_known_to_have_changed_needs_less_to_be_seen() -> None:
    generator = np.random.default_rng(6)
    unknown, known = 0, 0
    for _ in range(60):
        values = generator.normal(30, 1, 16) + 1.8 * (np.arange(16) >= 12)
        unknown += course(values).told().steps == (12,)
        known += course(values, known=(12,)).told().steps == (12,)
    assert known > unknown


def test_weights_count() -> None:
    # One value far off that hardly counts does not move the level.
    values = np.array([5.0, 5.1, 4.9, 5.0, 5.2, 4.8, 5.0, 9.0])
    found = course(values, np.array([1.0] * 7 + [1e-6]))
    assert found.mean == pytest.approx(5.0, abs=1e-3)


def test_too_few_and_all_alike_keep_their_level() -> None:
    assert course([1, 2, 3, 4, 5]).kind == "level"
    found = course([3.1] * 12)
    assert (found.kind, found.p_value, found.fitted) == ("level", 1.0, (3.1,) * 12)
