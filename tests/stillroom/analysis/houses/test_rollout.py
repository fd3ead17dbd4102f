"""Did a roll-out help: houses with a new version beside those that still wait."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from benchmarks.rollouts import KINDS, drawn, told
from statsmodels.genmod import families
from statsmodels.genmod.generalized_linear_model import GLM

from stillroom.analysis.houses.rollout import NEVER, Panel, rollout
from stillroom.analysis.houses.untreated import expected, ratio


def group(houses: int = 12, effect: float = 0.0, seed: int = 1) -> Panel:
    return drawn(np.random.default_rng(seed), houses, KINDS["steady houses"], effect)


def test_what_is_expected_is_the_poisson_fit_of_statsmodels():
    panel = group()
    weeks = np.arange(panel.counts.shape[1])
    waiting = weeks < panel.served[:, None]
    ours = expected(panel.counts, panel.exposure, waiting[None])[0]
    house, week = np.nonzero(waiting)
    design = pd.get_dummies(pd.DataFrame({"house": house, "week": week}).astype("category"), dtype=float)
    design = design.drop(columns=f"week_{week.min()}")
    fit = GLM(panel.counts[waiting], design, family=families.Poisson(), offset=np.log(panel.exposure[waiting])).fit()
    assert ours[waiting] == pytest.approx(np.asarray(fit.fittedvalues), rel=1e-4)


def test_its_error_is_that_of_leaving_houses_out_in_turn():
    """The jackknife by house (Efron & Tibshirani 1993, ch. 11): another way to the same error, close in many houses."""
    panel = group(houses=40)
    since = np.arange(panel.counts.shape[1]) - panel.served[:, None]
    fitted_on, looked_at = (since < 0)[None], ((since > 0) & (since <= 8))[None]
    whole = ratio(panel.counts, panel.exposure, fitted_on, looked_at)
    without = []
    for left_out in range(40):
        rest = np.arange(40) != left_out
        one = ratio(panel.counts[rest], panel.exposure[rest], fitted_on[:, rest], looked_at[:, rest])
        without.append(one.log[0])
    jackknife = np.sqrt(39 / 40 * ((np.array(without) - np.mean(without)) ** 2).sum())
    assert whole.error[0] == pytest.approx(jackknife, rel=0.2)


def test_a_rise_is_found_and_is_within_its_interval():
    found = rollout(group(houses=30, effect=0.3))
    assert found.verdict == "more"
    assert found.ratio is not None
    assert found.low is not None
    assert found.high is not None
    assert found.low < 1.3 < found.high
    assert found.low > 1
    assert found.before == pytest.approx(1, abs=0.15)
    late = [at for at in found.course if at.first > 0]
    assert len(late) == 4
    assert all(at.ratio == pytest.approx(1.3, abs=0.2) for at in late)


def test_the_interval_says_what_the_p_value_says():
    for seed in range(8):
        found = rollout(group(seed=seed, effect=0.08))
        assert found.low is not None
        assert found.high is not None
        assert found.p_value is not None
        assert (found.low < 1 < found.high) == (found.p_value > 0.05)


def test_early_houses_are_not_held_against_those_served_before():
    """An effect that grows bends a plain two-way fit (Goodman-Bacon 2021, J. Econometrics 225:254), but not this."""
    houses, weeks = 24, 40
    served = np.repeat([12, 18, 24, NEVER], 6)
    since = np.arange(weeks) - served[:, None]
    counts = 1000 * np.where(since > 0, 1 + 0.05 * since.clip(0, 20), 1.0)
    found = rollout(Panel(counts=counts, exposure=np.ones((houses, weeks)), served=served))
    assert found.ratio == pytest.approx(1 + 0.05 * np.mean(range(1, 9)), abs=0.001)


def test_a_house_that_never_sold_it_before_says_nothing():
    panel = group()
    counts = panel.counts.copy()
    first = int(np.argmin(panel.served))
    counts[first, : panel.served[first]] = 0
    assert rollout(replace(panel, counts=counts)).served == int((panel.served < NEVER).sum()) - 1


@pytest.mark.parametrize(
    ("served", "why"),
    [
        ([10] * 12, "all houses got it in the same week"),
        ([10] + [NEVER] * 11, "too few houses got it while others waited"),
        ([10, NEVER, NEVER], "3 houses to compare"),
    ],
)
def test_what_cannot_be_told_says_why(served, why):
    panel = Panel(counts=np.full((len(served), 26), 30.0), exposure=np.ones((len(served), 26)), served=np.array(served))
    found = rollout(panel)
    assert found.why_not.startswith(why)
    assert found.verdict == "cannot tell"


@pytest.mark.parametrize(("before", "verdict"), [(1.0, "more"), (1.4, "cannot tell")])
def test_of_houses_that_were_unlike_before_it_came_nothing_is_told(before, verdict):
    """They sell 1.4 times as much with it; the second time they did so in the four weeks before already."""
    served = np.repeat([14, 17, 20, NEVER], 5)
    since = np.arange(32) - served[:, None]
    mean = 60 * np.where(since >= 0, 1.4, np.where(since >= -4, before, 1.0))
    counts = np.random.default_rng(3).poisson(mean).astype(float)
    found = rollout(Panel(counts=counts, exposure=np.ones(counts.shape), served=served))
    assert found.p_value is not None
    assert found.p_value <= 0.05
    assert found.before == pytest.approx(before, rel=0.1)
    assert (found.unlike_before, found.verdict) == (before > 1, verdict)


def test_false_alarms_are_one_in_twenty_in_a_dozen_houses():
    """The program of docs/simulations.md, in fewer roll-outs: between 5 % less and more three standard errors."""
    assert 0.01 <= told(12, KINDS["trends and seasons of their own"], 0.0, 0.0, groups=200) <= 0.1
