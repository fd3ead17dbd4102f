"""Difference and preference tests as answered."""

from __future__ import annotations

from datetime import date

import polars as pl
import pytest
from scipy import stats

from panel_frames import TRIALS
from stillroom.analysis.trials.answers import difference_tests, preference_tests
from stillroom.analysis.trials.discrimination import GUESSING
from stillroom_schemas.trial import METHODS, PREFERENCE
from store_frames import frame


def trials(method: str, answers: str, turned: bool = False) -> pl.DataFrame:
    """One answer a letter: y, n for right and wrong; a, b, - for a preference."""
    first, second = (3, 2) if turned else (2, 3)
    words = {"y": ("yes", None), "n": ("no", None), "a": (None, "a"), "b": (None, "b"), "-": (None, "none")}
    rows = [
        ("first", date(2026, 10, 5), f"P{number}", method, "Harbour Light", first, second, *words[letter], None)
        for number, letter in enumerate(answers)
    ]
    return frame("current_trial", rows, TRIALS)


def test_triangle_of_the_fao_paper_is_different() -> None:
    row = difference_tests(trials("triangle", "yyyyyyyynnnn")).row(0, named=True)
    assert (row["answers"], row["right"], row["right_needed"], row["verdict"]) == (12, 8, 8, "different")
    assert row["p"] == pytest.approx(0.018758, abs=1e-6)
    assert row["noticing"] == pytest.approx(0.5)


def test_few_right_of_many_is_alike_and_few_of_few_cannot_tell() -> None:
    # Exact limit for similar at 30 % of discriminators and 5 % risk: 25 of 60.
    assert difference_tests(trials("triangle", "y" * 25 + "n" * 35))["verdict"].to_list() == ["alike"]
    assert difference_tests(trials("triangle", "y" * 26 + "n" * 34))["verdict"].to_list() == ["cannot tell"]
    assert difference_tests(trials("triangle", "yynnnn"))["verdict"].to_list() == ["cannot tell"]


def test_the_chance_of_so_few_right_is_the_other_side_of_the_binomial() -> None:
    row = difference_tests(trials("triangle", "y" + "n" * 23)).row(0, named=True)
    assert row["so_few_p"] == pytest.approx(stats.binomtest(1, 24, 1 / 3, alternative="less").pvalue, rel=1e-9)


def test_two_out_of_five_has_no_d_prime() -> None:
    row = difference_tests(trials("two-out-of-five", "yyynnnnnn")).row(0, named=True)
    assert row["d_prime"] is None
    assert row["verdict"] == "cannot tell"


def test_preference_counts_for_the_version_whichever_was_called_a() -> None:
    both = pl.concat([trials("paired-preference", "bbbbbbbb-"), trials("paired-preference", "aaaaaaab", turned=True)])
    row = preference_tests(both).row(0, named=True)
    assert (row["prefer_newer"], row["prefer_older"], row["no_preference"]) == (15, 1, 1)
    assert (row["verdict"], row["share"]) == ("newer preferred", 15 / 16)


def test_nobody_with_a_preference_cannot_tell() -> None:
    row = preference_tests(trials("paired-preference", "---")).row(0, named=True)
    assert (row["verdict"], row["p"], row["share"]) == ("cannot tell", None, None)


def test_no_trials_no_rows() -> None:
    empty = frame("current_trial")
    assert difference_tests(empty).is_empty()
    assert preference_tests(empty).is_empty()


def test_every_difference_method_a_sheet_may_hold_is_read() -> None:
    assert {method for method in METHODS if method != PREFERENCE} == set(GUESSING)
    # Psychometric functions of Ennis (1993), inverted by bisection outside this program: 30 of 40, 19 of 30, 14 of 25.
    for method, right, wrong, d in (
        ("2-AFC", 30, 10, 0.95387),
        ("3-AFC", 19, 11, 0.99873),
        ("tetrad", 14, 11, 1.22870),
    ):
        row = difference_tests(trials(method, "y" * right + "n" * wrong)).row(0, named=True)
        assert row["d_prime"] == pytest.approx(d, abs=1e-4)
        assert row["p"] == pytest.approx(float(stats.binom.sf(right - 1, right + wrong, GUESSING[method])))
