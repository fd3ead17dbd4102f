"""Survival against published data: values printed by R, and SciPy."""

from datetime import date, timedelta

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import CensoredData, ecdf
from statsmodels.duration.survfunc import SurvfuncRight, survdiff

from stillroom.analysis.batches.keeping import batch_lives, log_rank, survival
from store_frames import frame

# Freireich et al. 1963, remission in weeks (R data MASS::gehan); a minus marks a censored time.
SIX_MP = [6, 6, 6, -6, 7, -9, 10, -10, -11, 13, 16, -17, -19, -20, 22, 23, -25, -32, -32, -34, -35]
CONTROL = [1, 1, 2, 2, 3, 4, 4, 5, 5, 8, 8, 8, 8, 11, 11, 12, 12, 15, 17, 22, 23]


def split(times: list[int]) -> tuple[list[float], list[bool]]:
    return [float(abs(t)) for t in times], [t > 0 for t in times]


def test_kaplan_meier_of_the_six_mp_arm_as_printed_by_r_survival() -> None:
    found = survival(*split(SIX_MP))
    assert found.days == (6, 7, 10, 13, 16, 22, 23)
    assert found.at_risk == (21, 17, 15, 12, 11, 7, 6)
    assert found.spoiled == (3, 1, 1, 1, 1, 1, 1)
    assert found.share == pytest.approx([0.857, 0.807, 0.753, 0.690, 0.627, 0.538, 0.448], abs=5e-4)
    errors = dict(zip(found.days, found.error, strict=True))
    assert [errors[day] for day in (6, 10, 23)] == pytest.approx([0.0764, 0.0963, 0.1346], abs=5e-5)


def test_interval_agrees_with_scipys_log_log_interval() -> None:
    days, spoiled = split(SIX_MP)
    found = survival(days, spoiled)
    data = CensoredData.right_censored(np.array(days), ~np.array(spoiled))
    reference = ecdf(data).sf.confidence_interval(method="log-log")
    at = np.isin(ecdf(data).sf.quantiles, found.days)
    assert found.low == pytest.approx(reference.low.probabilities[at].tolist(), abs=1e-9)
    assert found.high == pytest.approx(reference.high.probabilities[at].tolist(), abs=1e-9)


@pytest.mark.parametrize("seed", range(12))
def test_curve_and_log_rank_are_statsmodels(seed: int) -> None:
    generator = np.random.default_rng(seed)
    count = int(generator.integers(6, 60))
    days = generator.integers(1, 12, count).astype(float)
    spoiled, group = generator.random(count) < 0.6, generator.choice(["a", "b", "c"][: 2 + seed % 2], count)
    spoiled[:3], days[:3], group[:3] = True, [9.0, 8, 7], ["a", "b", "c"][: 2 + seed % 2][-1]
    days[-2:], spoiled[-2:], group[-2:] = 12, False, ["a", "b"]  # some are good to the end
    ours, theirs = survival(days.tolist(), spoiled.tolist()), SurvfuncRight(days, spoiled.astype(int))
    on = theirs.n_events > 0
    assert ours.days == tuple(theirs.surv_times[on])
    assert ours.share == pytest.approx(theirs.surv_prob[on], rel=1e-12)
    assert ours.error == pytest.approx(theirs.surv_prob_se[on], rel=1e-12)
    found = log_rank(days.tolist(), spoiled.tolist(), group.tolist())
    assert found is not None
    assert (found.chi_squared, found.p_value) == pytest.approx(survdiff(days, spoiled.astype(int), group), rel=1e-9)


def test_log_rank_of_the_remission_data() -> None:
    days, spoiled = split(SIX_MP + CONTROL)
    found = log_rank(days, spoiled, ["6-MP"] * 21 + ["control"] * 21)
    assert found is not None
    assert found.chi_squared == pytest.approx(16.79, abs=0.05)
    assert found.degrees == 1


def test_a_group_gone_before_the_first_spoiled_does_not_count() -> None:
    # R's survdiff: groups of which none is expected to spoil add no degree of freedom.
    days, spoiled, group = [3.0, 5, 5, 9], [True, True, False, True], ["a", "a", "b", "b"]
    two = log_rank(days, spoiled, group)
    assert two is not None
    assert (two.degrees, round(two.chi_squared, 4)) == (1, 2.8824)
    assert log_rank([*days, 1.0, 1.0], [*spoiled, False, False], [*group, "c", "c"]) == two
    late = log_rank([6.0, 2, 5, 8, 1], [True, False, True, True, False], ["c", "c", "d", "c", "a"])
    assert late is not None
    assert (late.degrees, late.chi_squared) == (1, pytest.approx(2.0))


def test_nothing_spoiled_gives_no_figure() -> None:
    found = survival([14.0] * 9, [False] * 9)
    assert found.good_after(14) == (1.0, 0.0, 1.0)
    assert found.day_by_which(0.2) is None
    assert log_rank([14.0] * 4, [False] * 4, ["1", "1", "2", "2"]) is None
    assert survival([], []).batches == 0


def test_all_gone_is_not_certain_for_ever() -> None:
    # R prints no interval there. Clopper & Pearson: none of 1 good may be up to 97.5 %, none of 3 up to 70.76 %.
    assert survival([5.0], [True]).good_after(5) == (0.0, 0.0, pytest.approx(0.975))
    assert survival([5.0] * 3, [True] * 3).good_after(5) == (0.0, 0.0, pytest.approx(0.7076, abs=1e-4))
    curve = survival([3.0, 5, 5, 9], [True] * 4)
    assert curve.share[-1] == 0
    assert curve.high[-1] == curve.high[-2] < 1


def test_one_in_five_gone_by_day_nine() -> None:
    found = survival([9.0, 9.0] + [14.0] * 8, [True, True] + [False] * 8)
    assert found.day_by_which(0.2) == 9
    assert found.good_after(8)[0] == 1
    share, low, high = found.good_after(14)
    assert share == pytest.approx(0.8)
    assert low < share < high


@settings(deadline=None, max_examples=60)
@given(st.lists(st.tuples(st.integers(0, 9), st.booleans()), min_size=1, max_size=12))
def test_survival_is_the_running_product(lives: list[tuple[int, bool]]) -> None:
    found = survival([float(day) for day, _ in lives], [went for _, went in lives])
    expected, product = [], 1.0
    for day in sorted({day for day, went in lives if went}):
        at_risk = sum(other >= day for other, _ in lives)
        product *= 1 - sum(other == day and went for other, went in lives) / at_risk
        expected.append(product)
    assert found.share == pytest.approx(expected, abs=1e-12)
    assert np.isfinite([*found.low, *found.high, *found.error]).all()


@settings(deadline=None, max_examples=60)
@given(st.lists(st.tuples(st.integers(0, 9), st.booleans(), st.sampled_from("ab")), min_size=2, max_size=12))
def test_log_rank_never_gives_a_nan(lives: list[tuple[int, bool, str]]) -> None:
    found = log_rank([float(day) for day, _, _ in lives], [went for _, went, _ in lives], [g for _, _, g in lives])
    assert found is None or 0 <= found.p_value <= 1


def test_lives_of_batches() -> None:
    made, last = date(2026, 10, 1), date(2026, 10, 20)

    def row(label: str, keeps: int | None = 14, left: float = 0.0, **days: int) -> dict[str, object]:
        told = {"batch": label, "preparation": "Shrub", "version": 1, "made_on": made, "last_day": last}
        told |= {
            "on_hand": left,
            "left_at_use_by": 0.0,
            "use_by": None if keeps is None else made + timedelta(days=keeps),
        }
        return told | {name: made + timedelta(days=number) for name, number in days.items()}

    fate = frame(
        "batch_fate",
        [
            row("used", ended_on=6, last_good_on=5),
            row("emptied", last_good_on=5),  # nobody logged that it was used up
            row("off", ended_on=9, spoiled_on=9, last_good_on=7),
            row("unseen", ended_on=9, spoiled_on=9),  # had not served, nor been counted
            row("at once", ended_on=0, spoiled_on=0),
            row("late", ended_on=16, spoiled_on=16, last_good_on=11),
            row("past", left=5.0, last_good_on=3),
            row("new", 60, left=5.0),
            row("undated", None, left=5.0),
        ],
    )
    lives = batch_lives(fate).select("batch", "days", "spoiled", "good", "found")
    assert {name: rest for name, *rest in lives.rows()} == {
        "used": [6, False, 6, None],
        "emptied": [5, False, 5, None],
        "off": [9, True, 7, 9],
        "unseen": [9, True, 0, 9],
        "at once": [0, True, 0, 0.5],
        "late": [14, False, 11, 16],  # found after the use-by: until then it was good as far as anybody knows
        "past": [14, False, 14, None],
        "new": [19, False, 19, None],
        "undated": [19, False, 19, None],
    }
