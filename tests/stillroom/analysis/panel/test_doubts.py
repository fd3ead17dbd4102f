"""Where the model alone would say too much, or too little: agreement, few people, serving order, several sittings."""

from __future__ import annotations

from datetime import date
from typing import Any

import numpy as np
import polars as pl
import pytest
import statsmodels.api as sm
from scipy import stats

from panel_frames import drawn_scores, panel
from stillroom.analysis.panel.exact import sign_flip
from stillroom.analysis.panel.sizes import sizes
from stillroom.analysis.panel.verdicts import compare_versions


def _only(scores: pl.DataFrame) -> dict[str, Any]:
    return compare_versions(scores).differences.row(0, named=True)


def _served(scores: pl.DataFrame, first: dict[str, int]) -> pl.DataFrame:
    """Positions where each panelist had the version named first; the others are all said to stand second."""
    stood = [1 if first[who] == version else 2 for who, version in scores.select("panelist", "version").rows()]
    return scores.with_columns(position=pl.Series(stood))


# Exact ---------------------------------------------------------------------------------------------


def test_the_exact_test_is_fishers_on_darwins_plants() -> None:
    # Fisher (1935), section 21: 863 of 2^15 sums are as large as 314 eighths of an inch (from memory); both sides here.
    plants = np.array([49, -67, 8, 16, 6, 23, 28, 41, 14, 29, 56, 24, 75, 60, -48], float)
    assert sign_flip(plants).p == pytest.approx(2 * 863 / 2**15)
    assert (sign_flip(plants).higher, sign_flip(plants).lower) == (13, 2)


@pytest.mark.parametrize("decimals", [1, 8])
def test_the_exact_test_of_many_people_is_counted_or_drawn(decimals: int) -> None:
    values = np.random.default_rng(1).normal(0.4, 2, 60).round(decimals)
    t = values.sum() / np.sqrt((values**2).sum())  # the turned sum is normal, near enough, with 60 people
    assert sign_flip(values).p == pytest.approx(2 * stats.norm.sf(abs(t)), abs=0.02)


@pytest.mark.parametrize(
    ("people", "verdict", "sureness"),
    [(4, "cannot tell", "cannot tell"), (6, "better", "likely"), (9, "better", "sure")],
)
def test_where_all_agree_to_the_point_the_count_decides(people: int, verdict: str, sureness: str) -> None:
    row = _only(panel([[4.0 + n % 3, 5.0 + n % 3] for n in range(people)]))
    assert (row["verdict"], row["sureness"], row["scored_higher"]) == (verdict, sureness, people)
    assert row["p"] == pytest.approx(2.0 ** (1 - people))


def test_five_people_are_never_sure() -> None:
    row = _only(panel(drawn_scores(5, [0, 4], seed=2, sd=0.2)))
    assert (row["verdict"], row["sureness"]) == ("better", "likely")


# Sizes ---------------------------------------------------------------------------------------------


def test_the_number_of_tasters_has_the_range_of_the_scatter() -> None:
    # 95 % limits of a variance on 5 degrees of freedom: 5 / 12.83 and 5 / 0.831 of it (printed chi-square tables).
    found = sizes(1.0, 5, 2, 0.5, 1)
    assert found.low is not None
    assert found.needed is not None
    assert found.high is not None
    # A test of few people wants some two more for its own degrees of freedom.
    assert (found.low - 2) / (found.needed - 2) == pytest.approx(5 / 12.83, rel=0.05)
    assert (found.high - 2) / (found.needed - 2) == pytest.approx(5 / 0.831, rel=0.05)


@pytest.mark.parametrize(("people", "told"), [(5, False), (6, True)])
def test_no_number_of_tasters_from_fewer_than_six(people: int, told: bool) -> None:
    row = _only(panel(drawn_scores(people, [0, 0.2], seed=3)))
    assert (row["tasters_low"] is not None) == told


# Serving order -------------------------------------------------------------------------------------


def test_a_version_that_all_had_first_is_not_better_but_in_doubt() -> None:
    scores = panel(drawn_scores(10, [0, 2], seed=4, sd=0.4))
    row = _only(_served(scores, dict.fromkeys(scores["panelist"], 2)))
    assert (row["verdict"], row["doubt"], row["low"]) == ("cannot tell", "order", None)
    assert _only(scores)["verdict"] == "better"


def test_versions_that_never_came_first_are_compared_all_the_same() -> None:
    scores = panel(drawn_scores(10, [0, 2, 0], seed=4, sd=0.4))
    found = compare_versions(_served(scores, dict.fromkeys(scores["panelist"], 3))).differences
    doubts = {(row["version"], row["against"]): (row["doubt"], row["verdict"]) for row in found.iter_rows(named=True)}
    assert doubts == {(2, 1): (None, "better"), (3, 1): ("order", "cannot tell"), (3, 2): ("order", "cannot tell")}


def test_the_first_glass_is_taken_out_as_least_squares_do() -> None:
    """Versions, panelists and first glass, fitted by statsmodels' ordinary least squares."""
    scores = panel(drawn_scores(9, [0, 0.6, 1], seed=5))
    people = scores["panelist"].unique(maintain_order=True).to_list()
    scores = _served(scores, {who: (n % 3 + 1 if n < 6 else 3) for n, who in enumerate(people)})
    result = compare_versions(scores)
    design = scores.select("panelist", "version").to_dummies().drop("version_1")
    first = (scores["position"] == 1).cast(pl.Float64).alias("first")
    names = [*design.columns, "first"]
    fit = sm.OLS(scores["score"].to_numpy(), design.with_columns(first).to_numpy().astype(float)).fit()
    step, glass = names.index("version_3"), names.index("first")
    row = result.differences.filter(version=3, against=1).row(0, named=True)
    assert row["difference"] == pytest.approx(fit.params[step])
    assert row["se"] == pytest.approx(fit.bse[step])
    assert row["df"] == fit.df_resid
    test = result.tests.row(0, named=True)
    assert (test["first_glass"], test["first_glass_p"]) == pytest.approx((fit.params[glass], fit.pvalues[glass]))


@pytest.mark.parametrize(("first", "cancels"), [((1, 2, 1, 2, 1, 2), True), ((1, 2, 2, 2, 2, 2), False)])
def test_in_a_small_panel_of_even_orders_the_first_glass_cancels(first: tuple[int, ...], cancels: bool) -> None:
    """A degree of freedom of five is dear: it is spent where the orders are uneven, and only there."""
    scores = panel(drawn_scores(6, [0, 1], seed=5))
    people = scores["panelist"].unique(maintain_order=True).to_list()
    served = compare_versions(_served(scores, dict(zip(people, first, strict=True))))
    test, row = served.tests.row(0, named=True), served.differences.row(0, named=True)
    assert test["first_glass"] is not None
    assert (test["first_glass_taken_out"], row["df"]) == (not cancels, 5 if cancels else 4)
    assert (row["p"] == _only(scores)["p"]) == cancels


def test_the_first_glass_is_taken_out_of_an_incomplete_panel_too() -> None:
    rng = np.random.default_rng(6)
    scores = panel(drawn_scores(24, [0, 0, 0], seed=6, sd=0.5))
    scores = _served(scores, {who: int(rng.integers(1, 4)) for who in scores["panelist"].unique(maintain_order=True)})
    scores = scores.with_columns(score=pl.col("score") + 1.5 * (pl.col("position") == 1))
    gaps = scores.filter((pl.col("position") == 1) | (pl.int_range(pl.len()) % 4 != 0))
    test = compare_versions(gaps).tests.row(0, named=True)
    assert test["method"].startswith("mixed model")
    assert test["first_glass"] == pytest.approx(1.5, abs=0.4)


# Sittings ------------------------------------------------------------------------------------------


def _two_sittings(first: float, second: float, looks: int | None = None) -> pl.DataFrame:
    sittings = [
        panel(drawn_scores(8, [0, step], seed=seed, sd=0.6), session=name, tasted_on=day)
        for name, day, step, seed in (("spring", date(2026, 4, 1), first, 7), ("summer", date(2026, 7, 1), second, 8))
    ]
    return pl.concat(sittings).with_columns(looks=pl.lit(looks, pl.Int64))


def test_sittings_that_contradict_one_another_are_named_not_averaged() -> None:
    row = _only(_two_sittings(2, -2))
    assert (row["verdict"], row["doubt"], row["low"]) == ("cannot tell", "sittings", None)
    assert "in spring" in row["by_sitting"]
    assert _only(_two_sittings(2, 2))["doubt"] is None


def test_a_second_look_that_was_not_planned_is_paid_for() -> None:
    planned, again = (_only(_two_sittings(0.5, 0.5, looks)) for looks in (2, None))
    assert (planned["looked_again"], again["looked_again"]) == (False, True)
    assert planned["level"] == pytest.approx(0.0490, abs=5e-4)  # Lan & DeMets, two looks: z = 1.969 at the last
    assert again["p"] > planned["p"]
    assert again["high"] - again["low"] > 1.3 * (planned["high"] - planned["low"])


def test_more_sittings_than_were_planned_are_not_planned() -> None:
    assert _only(_two_sittings(0.5, 0.5, 1))["looked_again"]


def test_the_interval_after_unplanned_looks_agrees_with_its_p() -> None:
    for step in np.linspace(0, 1.5, 16):
        row = _only(_two_sittings(step, step))
        assert (row["p"] <= 0.05) == (row["low"] > 0 or row["high"] < 0)
