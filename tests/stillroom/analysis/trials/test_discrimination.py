"""Difference tests against printed tables; n/a in a table is None here."""

from __future__ import annotations

import pytest
from scipy import stats

from stillroom.analysis.trials.discrimination import (
    answers_needed,
    answers_that_hold,
    discriminators,
    preference_p,
    right_answers_needed,
    right_answers_p,
    similarity_p,
)

# Triangle, least right answers at 5, 1 and 0.1 %: FAO Fisheries Technical Paper 348 (Huss 1995), appendix A, and
# Lyon et al. (1992), table A-2; ISO 4120 has the same rule.
TRIANGLE = {
    6: (5, 6, None), 8: (6, 7, 8), 11: (7, 8, 10), 12: (8, 9, 10), 15: (9, 10, 12), 18: (10, 12, 13), 20: (11, 13, 14),
    24: (13, 15, 16), 30: (15, 17, 19), 36: (18, 20, 22), 42: (20, 22, 25), 48: (22, 25, 27), 54: (25, 27, 30),
    60: (27, 30, 33),
}  # fmt: skip
# Paired, one-sided: Lyon et al. (1992), table A-1, for 8 to 40 and 50; the others exact binomial.
PAIRED = {
    6: (6, None, None), 8: (7, 8, None), 12: (10, 11, 12), 15: (12, 13, 14), 24: (17, 19, 20), 25: (18, 19, 21),
    32: (22, 24, 26), 36: (24, 26, 28), 48: (31, 33, 36), 50: (32, 34, 37), 100: (59, 63, 66),
}  # fmt: skip
RISKS = (0.05, 0.01, 0.001)


@pytest.mark.parametrize("answers", TRIANGLE)
def test_triangle_table(answers: int) -> None:
    assert tuple(right_answers_needed(answers, 1 / 3, risk) for risk in RISKS) == TRIANGLE[answers]


@pytest.mark.parametrize("answers", PAIRED)
def test_paired_table(answers: int) -> None:
    assert tuple(right_answers_needed(answers, 1 / 2, risk) for risk in RISKS) == PAIRED[answers]


def test_least_right_answers_are_the_least_for_every_size() -> None:
    for answers in range(1, 101):
        for guessing in (1 / 10, 1 / 3, 1 / 2):
            needed = right_answers_needed(answers, guessing, 0.05)
            if needed is None:
                assert guessing**answers > 0.05
            else:
                assert right_answers_p(needed, answers, guessing) <= 0.05
                assert right_answers_p(needed - 1, answers, guessing) > 0.05


def test_a_tail_that_is_the_risk_itself_counts() -> None:
    # Two-out-of-five by guessing: both of 2 right is 1/10 x 1/10 = 1 %, all of 3 is 0.1 %, whatever doubles make of it.
    assert right_answers_needed(2, 1 / 10, 0.01) == 2
    assert right_answers_needed(3, 1 / 10, 0.001) == 3
    assert answers_needed(1.0, 0.01, 0.2, 1 / 10) == 2


# Paired, two-sided, exact binomial: 2 P(X >= k) <= risk; 5 % as in Roessler et al. (1978), from memory.
TWO_SIDED = {6: (6, None, None), 8: (8, 8, None), 24: (18, 19, 21), 50: (33, 35, 37), 100: (61, 64, 67)}


@pytest.mark.parametrize("answers", TWO_SIDED)
def test_paired_table_two_sided(answers: int) -> None:
    assert tuple(right_answers_needed(answers, 1 / 2, risk / 2) for risk in RISKS) == TWO_SIDED[answers]


def test_triangle_of_the_fao_paper() -> None:
    # Appendix B: 12 assessors, 8 right, different at 5 %.
    assert right_answers_p(8, 12, 1 / 3) == pytest.approx(0.018758, abs=1e-6)


def test_duo_trio_examples() -> None:
    assert right_answers_p(20, 30, 1 / 2) == pytest.approx(0.049369, abs=1e-6)
    assert discriminators(22, 32, 1 / 2).share == pytest.approx(0.375)


def test_share_of_discriminators_and_its_normal_interval() -> None:
    found = discriminators(8, 12, 1 / 3)
    assert (found.share, found.wald_low, found.wald_high) == pytest.approx((0.5, 0.0999, 0.9001), abs=5e-5)


def test_share_below_guessing_is_nought_not_negative() -> None:
    found = discriminators(2, 12, 1 / 3)
    assert (found.share, found.wald_low, found.exact_low) == (0, 0, 0)


def test_exact_interval_of_discriminators_is_clopper_pearson_carried_over() -> None:
    low, high = stats.beta.ppf(0.05, 24, 7), stats.beta.ppf(0.95, 25, 6)  # one-sided 95 % at either end
    found = discriminators(24, 30, 1 / 2)
    assert (found.exact_low, found.exact_high) == pytest.approx((2 * low - 1, 2 * high - 1))


@pytest.mark.parametrize(
    ("answers", "most", "beta", "expected"), [(60, 0.3, 0.05, 25), (66, 0.3, 0.05, 28), (72, 0.2, 0.1, 27)]
)
def test_similarity_limits(answers: int, most: float, beta: float, expected: int) -> None:
    # Exact; at (72, 20 %, 10 %) the normal limit is 28.
    assert similarity_p(expected, answers, 1 / 3, most) <= beta < similarity_p(expected + 1, answers, 1 / 3, most)


# ISO 4120 table A.3 (as in Meilgaard, Civille & Carr, table T7; recalled and reproduced): beta .20 .10 .05 .01 .001.
ASSESSORS = {
    (0.5, 0.10): (12, 15, 20, 30, 43), (0.5, 0.05): (16, 20, 23, 35, 48), (0.4, 0.10): (17, 25, 30, 46, 67),
    (0.4, 0.05): (23, 30, 40, 57, 79), (0.3, 0.10): (30, 43, 54, 81, 119), (0.3, 0.05): (40, 53, 66, 98, 136),
    (0.2, 0.05): (87, 117, 147, 213, 305), (0.1, 0.05): (325, 447, 572, 828),
}  # fmt: skip


@pytest.mark.parametrize(("share", "alpha"), ASSESSORS)
def test_number_of_assessors(share: float, alpha: float) -> None:
    expected = ASSESSORS[share, alpha]
    betas = (0.2, 0.1, 0.05, 0.01, 0.001)[: len(expected)]
    assert tuple(answers_needed(share, alpha, beta, 1 / 3) for beta in betas) == expected


@pytest.mark.parametrize("share", [0.0, -0.2, 1.5])
def test_a_share_that_is_none_needs_no_number(share: float) -> None:
    assert answers_needed(share, 0.05, 0.05, 1 / 3) is None


def test_preference_is_two_sided() -> None:
    # Roessler et al. (1978), two-tailed 5 %, from memory: 15, 21, 27, 33, 39, 61 of 20, 30, 40, 50, 60, 100.
    for answers, needed in {20: 15, 30: 21, 40: 27, 50: 33, 60: 39, 100: 61}.items():
        assert preference_p(needed, answers) <= 0.05 < preference_p(needed - 1, answers)


@pytest.mark.parametrize("guessing", [1 / 10, 1 / 3, 1 / 2])
def test_verdict_and_limits_agree_for_every_result(guessing: float) -> None:
    """Of 28 triangle tests just significant, 18 had a 95 % interval from 0: both sides are one-sided tests here."""
    for answers in range(1, 61):
        for right in range(answers + 1):
            found = discriminators(right, answers, guessing)
            assert (right_answers_p(right, answers, guessing) < 0.05) == (found.exact_low > 0)
            assert (similarity_p(right, answers, guessing, 0.3) < 0.05) == (found.exact_high < 0.3)


def test_the_functions_are_the_binomial_at_whole_numbers() -> None:
    for right in range(21):
        assert right_answers_p(right, 20, 1 / 3) == pytest.approx(stats.binom.sf(right - 1, 20, 1 / 3))
        assert similarity_p(right, 20, 1 / 3, 0.3) == pytest.approx(stats.binom.cdf(right, 20, 1 / 3 + 0.2))
        assert preference_p(right, 20) == pytest.approx(stats.binomtest(right, 20).pvalue)


@pytest.mark.parametrize(("share", "beta", "guessing"), [(0.3, 0.2, 1 / 3), (0.3, 0.2, 1 / 2), (0.2, 0.1, 1 / 3)])
def test_a_number_that_holds_does_so_for_every_larger_one(share: float, beta: float, guessing: float) -> None:
    least, holds = answers_needed(share, 0.05, beta, guessing), answers_that_hold(share, 0.05, beta, guessing)
    assert least is not None
    assert holds is not None

    def power(answers: int) -> float:
        needed = right_answers_needed(answers, guessing)
        return 0.0 if needed is None else float(stats.binom.sf(needed - 1, answers, guessing + (1 - guessing) * share))

    assert all(power(answers) >= 1 - beta for answers in range(holds, holds + 300))
    assert power(holds - 1) < 1 - beta
    assert least <= holds
