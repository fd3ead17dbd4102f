"""Comparing versions: the right model for the design, verdicts, corrections, and what cannot be told."""

from __future__ import annotations

import numpy as np
import polars as pl
import pytest
from scipy import stats
from statsmodels.stats.multitest import multipletests

from panel_frames import drawn_scores, panel
from stillroom.analysis.panel.verdicts import compare_versions
from store_frames import frame


def test_complete_panel_is_the_paired_t_test_for_two_versions() -> None:
    table = np.array(drawn_scores(12, [0, 1], seed=1))
    result = compare_versions(panel(table.tolist()))
    paired = stats.ttest_rel(table[:, 1], table[:, 0])
    row = result.differences.row(0, named=True)
    assert (row["version"], row["against"], row["correction"]) == (2, 1, "Tukey")
    assert row["difference"] == pytest.approx(float((table[:, 1] - table[:, 0]).mean()))
    assert row["p"] == pytest.approx(paired.pvalue)
    assert result.tests["f"][0] == pytest.approx(paired.statistic**2)


def test_holm_goes_over_the_attributes_of_each_pair_and_takes_nothing_from_liking() -> None:
    frames = [
        panel(drawn_scores(10, [0, size], seed=seed), attribute=name)
        for seed, (name, size) in enumerate([("liking", 1.5), ("sweetness", 0.9), ("sourness", 0.2), ("body", 0.4)])
    ]
    differences = compare_versions(pl.concat(frames)).differences
    liking, other = differences.filter("primary"), differences.filter(~pl.col("primary"))
    assert liking["p_all"].to_list() == liking["p"].to_list()
    assert other["p_all"].to_list() == pytest.approx(multipletests(other["p"], method="holm")[1].tolist())


@pytest.mark.parametrize(
    ("names", "primary"),
    [(["Overall Liking", "zest"], ["Overall Liking"]), (["zest"], ["zest"]), (["zest", "finish"], [])],
)
def test_overall_liking_is_the_question_or_the_only_liking_there_is(names: list[str], primary: list[str]) -> None:
    frames = [panel(drawn_scores(6, [0, 1], seed=1), attribute=name, kind="liking") for name in names]
    found = compare_versions(pl.concat(frames)).differences
    assert found.filter("primary")["attribute"].to_list() == primary


def test_clear_difference_in_liking_is_better_and_in_intensity_only_more() -> None:
    table = drawn_scores(14, [0, 2], seed=2, sd=0.5)
    scores = pl.concat(
        [panel(table), panel(table, attribute="sweetness"), panel(table, attribute="zest", kind="liking")]
    )
    verdicts = dict(compare_versions(scores).differences.select("attribute", "verdict").rows())
    assert verdicts == {"liking": "better", "sweetness": "more", "zest": "better"}


def test_version_in_service_is_compared_after_dunnett_newer_against_older() -> None:
    scores = panel(drawn_scores(12, [0, 0.5, 1], seed=3))
    dunnett = compare_versions(scores, {"Harbour Light": 2}).differences.filter(pl.col("correction") == "Dunnett")
    assert dunnett.select("version", "against").rows() == [(2, 1), (3, 2)]
    tukey = compare_versions(scores).differences
    width = (pl.col("high") - pl.col("low")).alias("width")
    assert dunnett.select(width)["width"][0] < tukey.select(width)["width"][0]


def test_margin_turns_cannot_tell_into_as_good_as() -> None:
    scores = panel(drawn_scores(40, [0, 0], seed=4, sd=0.5))
    assert compare_versions(scores).differences["verdict"].to_list() == ["cannot tell"]
    assert compare_versions(scores, margin=0.5).differences["verdict"].to_list() == ["as good as"]


def test_repeats_are_averaged_before_a_complete_panel_is_compared() -> None:
    # Versions against panelist x version: Box, Hunter & Hunter; the same as the analysis of the means.
    first, second = drawn_scores(8, [0, 1, 1], seed=5), drawn_scores(8, [0, 1, 1], seed=6)
    repeated = compare_versions(pl.concat([panel(first, replicate=1), panel(second, replicate=2)])).tests
    averaged = compare_versions(panel(((np.array(first) + np.array(second)) / 2).tolist())).tests
    assert repeated["f"].to_list() == pytest.approx(averaged["f"].to_list())
    assert repeated["df_within"].to_list() == [14.0]


def test_incomplete_panel_is_a_mixed_model() -> None:
    table: list[list[float | None]] = [list(row) for row in drawn_scores(12, [0, 1, 1], seed=7)]
    table[3][1] = None
    tests = compare_versions(panel(table)).tests
    assert tests["method"][0].startswith("mixed model")
    assert tests["rank_method"][0] == "Skillings-Mack"


def test_sessions_are_joined_only_through_shared_versions() -> None:
    spring, summer = np.array(drawn_scores(9, [-2, -1], seed=8)), np.array(drawn_scores(9, [1, 2], seed=9))
    scores = pl.concat(
        [
            panel(spring.tolist(), versions=(1, 2), session="spring"),
            panel(summer.tolist(), versions=(2, 3), session="summer"),
            panel(drawn_scores(9, [0, 1], seed=10), versions=(7, 8), session="winter"),
        ]
    )
    result = compare_versions(scores)
    assert result.tests["versions"].to_list() == ["1, 2, 3", "7, 8"]
    pairs = {(row["against"], row["version"]): row for row in result.differences.iter_rows(named=True)}
    assert set(pairs) == {(1, 2), (1, 3), (2, 3), (7, 8)}
    assert [pair for pair, row in pairs.items() if row["never_met"]] == [(1, 3)]
    # The summer's scores are all higher; that is the session's doing, so only steps within a session may count.
    steps = np.diff(spring.mean(axis=0)) + np.diff(summer.mean(axis=0))
    assert pairs[1, 3]["difference"] == pytest.approx(steps[0], rel=0.05)


def test_scores_on_two_scales_are_two_attributes() -> None:
    table = drawn_scores(6, [0, 1], seed=11)
    scores = pl.concat([panel(table), panel(table, scale=(0, 100), session="second")])
    labels = compare_versions(scores).tests["attribute"].to_list()
    assert labels == ["liking (intensity, 0 to 100)", "liking (intensity, 1 to 9)"]


@pytest.mark.parametrize(
    ("scores", "words"),
    [
        (panel([[5], [6], [7]]), "only version 1 was tasted"),
        (panel([[5, 6, 7]]), "only one panelist"),
        (panel([[5, 5], [5, 5]]), "all scores are the same"),
        (panel([[4, 5], [6, None]]), "too few scores"),
        (panel([[4, None], [None, 7], [5, None], [None, 5]]), "nobody tasted two versions"),
    ],
)
def test_what_cannot_be_told_is_said(scores: pl.DataFrame, words: str) -> None:
    result = compare_versions(scores)
    assert result.tests["problem"].str.contains(words).all()
    assert result.differences.is_empty()


def test_one_attribute_that_cannot_be_told_leaves_the_others_alone() -> None:
    scores = pl.concat([panel([[5, 5], [5, 5], [5, 5]]), panel([[4, 6], [5, 6], [5, 7]], attribute="aroma")])
    result = compare_versions(scores)
    assert result.tests["problem"].is_null().to_list() == [True, False]
    means = result.means.select("attribute", "version", "mean", "scores").rows()
    assert means[2:] == [("liking", 1, 5.0, 3), ("liking", 2, 5.0, 3)]
    assert result.means["low"].is_null().to_list() == [False, False, True, True]


def test_the_panelists_have_a_test_of_their_own_where_they_are_blocks() -> None:
    """Penicillin yields, blend as block: Box, Hunter & Hunter, chapter 4: F = 66.0 / 18.83 on 4 and 12 df."""
    blends = [[89, 88, 97, 94], [84, 77, 92, 79], [81, 87, 87, 85], [87, 92, 89, 84], [79, 81, 80, 88]]
    row = compare_versions(panel(blends, scale=(1, 99))).tests.row(0, named=True)
    assert row["panelist_f"] == pytest.approx(66.0 / 18.8333, rel=1e-4)
    assert row["panelist_p"] == pytest.approx(0.0407, abs=1e-4)
    incomplete = compare_versions(panel([[4, None, 6], [5, 6, None], [None, 7, 3]])).tests.row(0, named=True)
    assert incomplete["f"] is not None
    assert incomplete["panelist_f"] is None


def test_no_scores_at_all() -> None:
    assert compare_versions(frame("panel_scores")).tests.is_empty()


def test_figures_are_never_nan() -> None:
    result = compare_versions(panel([[4, None, 6], [5, 6, None], [None, 7, 3]]), {"Harbour Light": 1}, margin=0.5)
    for table in (result.tests, result.means, result.differences):
        floats = table.select(pl.selectors.float())
        assert not any(column.is_nan().any() or column.is_infinite().any() for column in floats.iter_columns())
