"""Agreement of a panel against published examples."""

from __future__ import annotations

import numpy as np
import pytest

from stillroom.analysis.panel.agreement import intraclass_correlations, kendall_w
from stillroom.analysis.panel.crossed import crossed_variances
from stillroom.analysis.panel.version_fit import CannotTell

# Shrout & Fleiss (1979), table 2: 6 targets, 4 judges.
RATINGS = np.array([[9, 2, 5, 8], [6, 1, 3, 2], [8, 4, 6, 8], [7, 1, 2, 6], [10, 5, 6, 9], [6, 2, 4, 7]], float)


def test_intraclass_correlations_of_shrout_and_fleiss() -> None:
    found = intraclass_correlations(RATINGS)
    printed = {
        "ICC(1,1)": 0.17,
        "ICC(2,1)": 0.29,
        "ICC(3,1)": 0.71,
        "ICC(1,k)": 0.44,
        "ICC(2,k)": 0.62,
        "ICC(3,k)": 0.91,
    }
    assert {form: round(icc.value, 2) for form, icc in found.items()} == printed
    exact = {"ICC(1,1)": 0.1657, "ICC(2,1)": 0.2898, "ICC(1,k)": 0.4428, "ICC(3,k)": 0.9093}
    assert {form: found[form].value for form in exact} == pytest.approx(exact, abs=5e-4)


@pytest.mark.parametrize(
    ("form", "low", "high"),
    [("ICC(1,1)", -0.133, 0.723), ("ICC(2,1)", 0.019, 0.761), ("ICC(1,k)", -0.884, 0.912), ("ICC(3,k)", 0.676, 0.986)],
)
def test_intervals_are_those_of_r_psych(form: str, low: float, high: float) -> None:
    icc = intraclass_correlations(RATINGS)[form]
    assert (icc.low, icc.high) == pytest.approx((low, high), abs=2e-3)


def test_panelists_who_disagree_have_all_forms_but_what_does_not_exist() -> None:
    # Values of pingouin 0.7, which for the low limit of ICC(2,k) goes through infinity to +81.
    ratings = np.array([[5, 5, 6, 7, 3], [3, 7, 7, 4, 4], [7, 5, 4, 7, 4]], float)
    expected = {
        "ICC(1,1)": -0.226994, "ICC(1,k)": -12.333333, "ICC(2,1)": -0.230769, "ICC(2,k)": -15.0,
        "ICC(3,1)": -0.227273, "ICC(3,k)": -12.5,
    }  # fmt: skip
    found = intraclass_correlations(ratings)
    assert {form: icc.value for form, icc in found.items()} == pytest.approx(expected, rel=1e-5)
    assert [form for form, icc in found.items() if icc.low is None] == ["ICC(2,k)"]
    # Here the mean square of the means is below 0: pingouin's value of ICC(2,k), 16.7, is none either.
    opposed = np.array([[6, 6, 7, 7, 4, 3, 3, 6], [3, 5, 7, 6, 7, 4, 4, 6], [6, 4, 3, 5, 7, 6, 5, 4]], float)
    found = intraclass_correlations(opposed)
    assert found["ICC(2,1)"].value == pytest.approx(-0.153374, rel=1e-5)
    assert "ICC(2,k)" not in found


def test_no_interval_is_given_that_does_not_hold_its_own_value() -> None:
    # The printed formula (McGraw & Wong 1996, case 2A) ends at -3.63 to -3.63 here, above the value itself.
    ratings = np.array([[6, 8, 5, 5], [5, 8, 5, 7], [9, 4, 4, 8], [5, 9, 2, 9]], float)
    found = intraclass_correlations(ratings)
    assert found["ICC(2,1)"].value == pytest.approx(-0.239032, abs=1e-6)
    assert found["ICC(2,k)"].value == pytest.approx(-3.379679, abs=1e-6)
    assert [form for form, icc in found.items() if icc.high is None] == ["ICC(2,1)", "ICC(2,k)"]
    for icc in found.values():
        assert icc.high is None or icc.low is None or icc.low <= icc.value <= icc.high


def test_mean_of_all_by_consistency_is_cronbachs_alpha() -> None:
    judges = RATINGS.shape[1]
    alpha = judges / (judges - 1) * (1 - RATINGS.var(axis=0, ddof=1).sum() / RATINGS.sum(axis=1).var(ddof=1))
    assert intraclass_correlations(RATINGS)["ICC(3,k)"].value == pytest.approx(alpha)


@pytest.mark.parametrize("ratings", [np.full((3, 4), 5.0), RATINGS[:1], RATINGS[:, :1], np.array([[1.0, 2], [2, 1]])])
def test_no_agreement_to_measure_is_said(ratings: np.ndarray[tuple[int, int], np.dtype[np.float64]]) -> None:
    with pytest.raises(CannotTell):
        intraclass_correlations(ratings)


def test_missing_ratings_put_the_estimated_variances_into_the_same_forms() -> None:
    ratings = RATINGS.copy()
    ratings[[1, 4], [2, 0]] = np.nan
    of = crossed_variances(ratings)
    found = {form: icc.value for form, icc in intraclass_correlations(ratings).items()}
    # The forms written in variances: Shrout & Fleiss (1979), with the number of panelists k = 4.
    everything = of.sample + of.panelist + of.error
    expected = {
        "ICC(2,1)": of.sample / everything,
        "ICC(2,k)": of.sample / (of.sample + (of.panelist + of.error) / 4),
        "ICC(3,1)": of.sample / (of.sample + of.error),
        "ICC(3,k)": of.sample / (of.sample + of.error / 4),
        "ICC(1,k)": 1 - (of.panelist + of.error) / (4 * of.sample + of.error),
    }
    assert {form: found[form] for form in expected} == pytest.approx(expected)


def test_one_missing_rating_of_many_changes_next_to_nothing() -> None:
    # One score in 240 is missing: no variance can move by more than a few hundredths of itself.
    rng = np.random.default_rng(5)
    ratings = rng.normal(0, 1, (8, 1)) + rng.normal(0, 1, 30) + rng.normal(0, 1, (8, 30))
    complete = intraclass_correlations(ratings)
    ratings[3, 7] = np.nan
    for form, icc in intraclass_correlations(ratings).items():
        expected = complete[form]
        assert (icc.value, icc.low, icc.high) == pytest.approx((expected.value, expected.low, expected.high), abs=0.02)


@pytest.mark.parametrize(
    "ratings",
    [
        np.array([[5.0, np.nan, 5], [5, 5, 5], [np.nan, 5, 5]]),
        np.array([[1.0, 2, np.nan], [2, 3, 4], [4, 5, 6]]),
        np.array([[5.0, np.nan, 4], [np.nan, 6, np.nan]]),
    ],
)
def test_no_agreement_to_measure_is_said_of_incomplete_ratings_too(
    ratings: np.ndarray[tuple[int, int], np.dtype[np.float64]],
) -> None:
    with pytest.raises(CannotTell):
        intraclass_correlations(ratings)


def test_kendalls_w_of_siegel() -> None:
    # Siegel (1956), p. 230, from memory: three executives rank six applicants, W = .16.
    ranks = np.array([[1, 6, 3, 2, 5, 4], [1, 5, 6, 4, 2, 3], [6, 3, 2, 5, 4, 1]], float)
    assert kendall_w(ranks) == pytest.approx(0.16190, abs=1e-5)


def test_kendalls_w_is_one_where_all_agree() -> None:
    assert kendall_w(np.tile([1.0, 2, 3], (5, 1))) == pytest.approx(1)
