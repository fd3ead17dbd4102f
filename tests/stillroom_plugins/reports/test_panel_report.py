"""The panel report: what it says first, what it says when it cannot tell, and that it never stops on bad data."""

from __future__ import annotations

import json
import re
from collections.abc import Sequence
from datetime import date
from typing import Any

import numpy as np
import polars as pl
import pytest
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

from panel_frames import TRIALS, drawn_scores, panel
from spec_frames import spec_views
from stillroom.analysis.panel.attributes import _linked
from stillroom.house.report_settings import PanelSettings
from stillroom.objects import HouseFacts, Period, ReportInputs, ReportResult
from stillroom.plugins.registry import load_registry
from stillroom_plugins.reports.panel.choosing import settling
from stillroom_plugins.reports.panel.report import build
from stillroom_reports.tables import table_cells
from store_frames import frame
from vega_lite import checked

SPECS = "spec version in_service_from in_service_until"


def report(
    scores: pl.DataFrame,
    serving: Sequence[tuple[str, int, date | None, date | None]] = (),
    trials: Sequence[tuple[object, ...]] = (),
    comments: Sequence[tuple[object, ...]] = (),
    **settings: Any,
) -> ReportResult:
    frames = {
        "panel_scores": scores,
        "panel_comments": frame("panel_comments", comments),
        "current_trial": frame("current_trial", trials, TRIALS),
        **spec_views(frame("current_spec", serving, SPECS), "version_span"),
    }
    period = Period(first=date(2026, 8, 24), last=date(2026, 11, 22), label="autumn")
    house = HouseFacts(name="A house", currency="EUR")
    return build(ReportInputs(frames=frames, period=period, house=house, settings=PanelSettings(**settings)))


def _everything_is_finite(result: ReportResult) -> None:
    for table in result.tables:
        floats = table.frame.select(pl.selectors.float())
        assert not any(column.is_nan().any() or column.is_infinite().any() for column in floats.iter_columns())
        assert set(table.columns) <= set(table.frame.columns)
    for chart in result.charts:
        checked(chart)
    assert not any("nan" in f"{finding.sentence} {finding.evidence}".split() for finding in result.findings)


def test_the_report_is_found_by_the_registry() -> None:
    assert "panel" in load_registry().reports


def test_a_better_version_that_is_not_in_service_is_to_be_acted_on() -> None:
    scores = panel(drawn_scores(14, [0, 2], seed=1, sd=0.5))
    result = report(scores, [("harbour light", 1, date(2026, 1, 1), None)])
    first = result.findings[0]
    assert "version 2 is liked better than version 1 (in service), by" in first.sentence
    assert (first.act, first.subject, first.sureness) == (True, "Harbour Light", "sure")
    assert "14 panelists in 1 session" in first.evidence
    _everything_is_finite(result)


def test_a_better_version_that_is_in_service_already_needs_no_act() -> None:
    scores = panel(drawn_scores(14, [0, 2], seed=1, sd=0.5))
    serving = [("Harbour Light", 1, date(2026, 1, 1), date(2026, 9, 1)), ("Harbour Light", 2, date(2026, 9, 2), None)]
    first = report(scores, serving).findings[0]
    assert "version 2 (in service) is liked better than version 1, by" in first.sentence
    assert not first.act


def test_cannot_tell_says_how_many_tasters_it_takes() -> None:
    first = report(panel(drawn_scores(6, [0, 0.3, 0.1], seed=3, sd=0.75))).findings[0]
    assert first.sentence.startswith(
        "Harbour Light: the panel cannot tell any two of 3 versions apart: they differ by 0.6 points (version 1 over "
        "version 3) at most; if you must choose, version 1 is the best bet 5 times in 10"
    )
    named = r"about (\d+) tasters in one sitting would see a difference of 0.5 points four times in five \((\d+) to"
    in_one = re.search(named, first.sentence)
    again = re.search(r"on top of these scores it takes about (\d+) more", first.sentence)
    assert in_one is not None
    assert again is not None
    # A look that was not planned has to be paid for: it takes more people, and the sentence says so.
    assert 6 + int(again[1]) > int(in_one[1]) > int(in_one[2])
    assert (first.act, first.sureness) == (False, "cannot tell")


def test_as_good_as_needs_a_margin() -> None:
    scores = panel(drawn_scores(40, [0, 0], seed=4, sd=0.5))
    assert "version 2 is as good as version 1" in report(scores, margin=0.5).findings[0].sentence
    assert "cannot tell" in report(scores).findings[0].sentence


def _in_pairs(steps: Sequence[float], spread: Sequence[Sequence[float]]) -> pl.DataFrame:
    """Everybody scores each version by its step, and off it by a spread of their own."""
    return panel([[5 + step + off for step, off in zip(steps, own, strict=True)] for own in spread])


def test_the_headline_names_the_best_with_its_own_figures_and_every_other_clear_pair() -> None:
    rng = np.random.default_rng(15)
    scores = _in_pairs([1, 0, 2, 1.6], rng.normal(0, 1.05, (9, 4)))
    result = report(scores)
    differences = next(table.frame for table in result.tables if table.name == "differences")
    clear = differences.filter(pl.col("verdict").is_in(["better", "worse"]))
    assert clear.select("against", "version", "verdict").rows() == [(2, 3, "better"), (2, 4, "better")]
    first = result.findings[0]
    assert first.sentence.startswith("Harbour Light: version 3 is liked better than version 2, by")
    assert "version 4 is probably liked better than version 2, by" in first.sentence
    assert all(f"{winner} over 2 +" in text for winner in (3, 4) for text in (first.evidence, first.statistics))
    assert first.statistics.count("p =") >= 2
    assert first.sureness == differences.filter(version=3, against=2)["sureness"][0]


def test_a_larger_gain_is_named_before_a_higher_number_and_a_clear_loss_too() -> None:
    rng = np.random.default_rng(4)
    scores = _in_pairs([0, 0, 2.9, -1.5, 1], rng.normal(0, 0.4, (12, 5)))
    first = report(scores, [("Harbour Light", 1, date(2026, 1, 1), None)]).findings[0]
    assert first.sentence.startswith("Harbour Light: version 3 is liked better than version 1 (in service), by 2.")
    assert "version 5 is liked better than version 1 (in service), by" in first.sentence
    assert "version 4 is liked less than version 1 (in service), by 1." in first.sentence


def test_a_less_sure_pair_of_the_best_version_says_so() -> None:
    rng = np.random.default_rng(6)
    result = report(_in_pairs([0, 1.2, 2.2, 2.3], rng.normal(0, 0.8, (10, 4))))
    differences = next(table.frame for table in result.tables if table.name == "differences")
    assert differences.filter(version=4, against=2)["sureness"].to_list() == ["likely"]
    first = result.findings[0]
    assert first.sureness == "sure"
    assert re.search(r"version 4 is liked better than version 1 \(by .*\) and probably version 2 \(by", first.sentence)


def test_many_versions_that_are_as_good_are_no_failure_to_tell() -> None:
    scores = _in_pairs([0] * 5, np.random.default_rng(1).normal(0, 0.15, (30, 5)))
    first = report(scores, margin=0.5).findings[0]
    assert first.sentence == "Harbour Light: no two of 5 versions differ by the margin of 0.5 points."
    assert first.sureness == "sure"
    serving = [("Harbour Light", 1, date(2026, 1, 1), None)]
    told = report(scores, serving, margin=0.5).findings[0].sentence
    assert "versions 2, 3, 4 and 5 do not differ from version 1 (in service) by the margin of 0.5 points" in told


def test_what_cannot_be_told_is_not_hidden_behind_what_is_as_good() -> None:
    rng = np.random.default_rng(2)
    spread = rng.normal(0, 1, (24, 5)) * [0.2, 0.2, 0.2, 0.2, 3.0]
    first = report(_in_pairs([0] * 5, spread), margin=0.9).findings[0]
    assert "not worse by the margin of 0.9 points, so as good: version 3 as version 2" in first.sentence
    assert "the other pairs cannot be told apart" in first.sentence
    assert first.sureness == "cannot tell"


def test_only_what_was_held_against_the_version_in_service_is_said_of_it() -> None:
    rng = np.random.default_rng(1)
    scores = _in_pairs([0, 0.7, -0.7, 0, 0], rng.normal(0, 0.9, (9, 5)))
    result = report(scores, [("Harbour Light", 1, date(2026, 1, 1), None)])
    every = next(table.frame for table in result.tables if table.name == "all-pairs")
    assert every.filter(version=3, against=2)["verdict"].to_list() == ["worse"]
    assert "the panel cannot tell versions 2, 3, 4 and 5 from version 1 (in service)" in result.findings[0].sentence


def test_the_best_of_several_that_beat_one_is_a_bet_too() -> None:
    rng = np.random.default_rng(7)
    first = report(_in_pairs([0, 2, 2.1], rng.normal(0, 0.6, (9, 3)))).findings[0]
    assert re.search(r"version (\d) is liked better .*if you must choose, version \1 is the best bet", first.sentence)


def test_no_power_after_the_fact() -> None:
    for seed in range(20):
        sentence = report(panel(drawn_scores(30, [0, 0.1], seed=seed, sd=0.8))).findings[0].sentence
        assert "would have been seen" not in sentence


def test_all_agree_and_the_count_is_told() -> None:
    six, four = (report(panel([[4.0 + n % 3, 5.0 + n % 3] for n in range(people)])).findings[0] for people in (6, 4))
    assert "all 6 tasters agree to the point: version 2 is liked better than version 1, by 1.0" in six.sentence
    assert "6 of 6 gave version 2 more points than version 1, 0 fewer" in six.evidence
    assert "exact sign-flip test p = 0.031" in six.statistics
    assert "all 4 tasters like version 2 better than version 1" in four.sentence
    assert "so few agree by chance alone 1 time in 8" in four.sentence
    assert four.sureness == "cannot tell"


def test_all_agree_on_three_versions_and_the_count_decides_each_pair() -> None:
    """Closed testing: six people who agree are 2 of 64 for each pair, and nothing is made of the number of pairs."""
    six = report(panel([[4.0 + n % 3, 5.0 + n % 3, 7.0 + n % 3] for n in range(6)])).findings[0]
    assert six.sentence.startswith("Harbour Light: all 6 tasters agree to the point: version 3 is liked better than")
    assert "version 2 is liked better than version 1, by 1.0 points" in six.sentence
    assert six.statistics.count("p = 0.031") == 4
    four = report(panel([[4.0 + n % 3, 5.0 + n % 3, 7.0 + n % 3] for n in range(4)])).findings[0]
    assert four.sentence.startswith(
        "Harbour Light: the panel cannot tell any two of 3 versions apart: all 4 tasters like version 3 better than "
        "version 1, each by 3.0 points, but so few agree by chance alone 1 time in 8; six tasters or more"
    )
    alike = report(panel([[4.0 + n % 3] * 2 for n in range(6)])).findings[0]
    assert (
        alike.sentence
        == "Harbour Light: cannot tell version 2 from version 1: all 6 tasters gave them the same points."
    )


def test_the_page_says_where_too_few_can_ever_tell() -> None:
    told = report(panel(drawn_scores(5, [0, 3], seed=1, sd=0.3))).findings[0]
    assert "5 tasters are too few for the exact test ever to reach 5 %" in told.evidence
    assert "in 6.2 % of cases" in told.evidence


def test_order_and_version_that_cannot_be_told_apart_are_said() -> None:
    scores = panel(drawn_scores(10, [0, 2], seed=4, sd=0.4))
    assert "no serving positions were given" in report(scores).findings[0].evidence
    some = scores.with_columns(position=pl.when(pl.col("panelist") == "P000").then("version"))
    assert "not all serving positions were given" in report(some).findings[0].evidence
    served = scores.with_columns(position=3 - pl.col("version"))
    told = report(served).findings[0]
    assert "the order of serving goes with the version" in told.sentence
    assert (told.sureness, told.act) == ("cannot tell", False)


def test_contradictory_sittings_are_named() -> None:
    scores = pl.concat(
        [
            panel(drawn_scores(8, [0, 2], seed=8, sd=0.5), session="spring", tasted_on=date(2026, 4, 1)),
            panel(drawn_scores(8, [2, 0], seed=9, sd=0.5), session="ember"),
        ]
    )
    told = report(scores).findings[0]
    assert re.search(r"the sittings contradict one another \(\+\d\.\d in spring; −\d\.\d in ember\)", told.sentence)
    assert "whenever one looks" not in told.evidence


def test_whom_the_rank_test_left_out_is_said_by_code() -> None:
    table: list[list[float | None]] = [list(row) for row in drawn_scores(9, [0, 1, 2], seed=5)]
    table[4] = [None, 5, None]
    by_code, by_name = (report(panel(table), show_names=names).findings[0].statistics for names in (False, True))
    assert re.search(r"rank test p . 0\.\d+ without T\d, who tasted one version only", by_code)
    assert "without P004, who tasted one version only" in by_name


def test_who_must_choose_is_given_the_better_bet_beside_the_verdict() -> None:
    result = report(panel(drawn_scores(6, [0, 0.4], seed=2)))
    first = result.findings[0]
    assert "cannot tell version 2 from version 1" in first.sentence
    assert re.search(r"if you must choose, version \d is the better bet \d times in 10, and gives away", first.sentence)
    assert "no past panel yet" in first.evidence
    assert next(table for table in result.tables if table.name == "bets").frame.height == 2


def test_no_bet_is_made_where_order_and_version_cannot_be_told_apart() -> None:
    scores = panel(drawn_scores(10, [0, 2], seed=4, sd=0.4)).with_columns(position=3 - pl.col("version"))
    result = report(scores)
    assert "if you must choose" not in result.findings[0].sentence
    assert "taste it again with the orders mixed" in result.findings[0].sentence
    assert "bets" not in [table.name for table in result.tables]


def test_a_clear_verdict_needs_no_bet() -> None:
    assert "if you must" not in report(panel(drawn_scores(14, [0, 2], seed=1, sd=0.5))).findings[0].sentence


@pytest.mark.parametrize(
    ("changed", "loss", "words"),
    [
        ({}, 0.3, "about 12 tasters in one sitting would see a difference of 0.5 points four times in five (6 to 30)"),
        ({}, 0.3, "; on top of these scores it takes about 17 more"),
        ({"rounds_again": 3}, 0.3, "about 17 more, or the same people in 3 rounds"),
        ({"tasters_needed": 20, "tasters_high": None}, 0.3, "(6 to over 1000)"),
        ({"tasters_needed": 90, "tasters_high": 400}, 0.3, "which is not practical: a difference test tells at least"),
        ({}, 0.05, "but so little is given away that nothing need be settled"),
        ({"tasters_needed": None}, 0.3, "nothing practical would settle it"),
        ({"tasters_needed": None, "tasters_low": None}, 0.3, "nothing practical would settle it"),
        ({"tasters_low": None, "panelists": 4}, 0.3, "six tasters or more"),
        ({"planned": 3}, 0.3, "taste it again as planned, 2 more sittings to come"),
        ({"doubt": "sittings"}, 0.3, "find out what differed between the sittings"),
    ],
)
def test_what_would_settle_it_depends_on_what_it_takes(changed: dict[str, object], loss: float, words: str) -> None:
    row = {"doubt": None, "worth_seeing": 0.5, "panelists": 8, "tasters_needed": 12, "tasters_low": 6}
    row |= {
        "tasters_high": 30,
        "tasters_again": 25,
        "rounds_again": None,
        "planned": None,
        "sittings": 1,
        "primary": True,
        "se": 0.4,
        **changed,
    }
    assert words in "; ".join(settling(row, {"expected_loss": loss}))


def test_other_attributes_are_more_or_less_and_come_after() -> None:
    scores = pl.concat(
        [panel(drawn_scores(14, [0, 2], seed=s, sd=0.5), attribute=a) for s, a in enumerate(["liking", "sweetness"])]
    )
    sentences = [finding.sentence for finding in report(scores).findings]
    assert "version 2 scores higher than version 1 in sweetness" in sentences[1]


def test_a_less_sure_step_in_character_says_so() -> None:
    rng = np.random.default_rng(2)
    aroma = _in_pairs([0, 1.2, 2.2], rng.normal(0, 0.8, (10, 3))).with_columns(attribute=pl.lit("aroma"))
    result = report(pl.concat([panel(drawn_scores(10, [0, 0, 0], seed=1)), aroma]))
    [said] = [finding for finding in result.findings if "character" in finding.sentence]
    differences = next(table.frame for table in result.tables if table.name == "differences").filter(attribute="aroma")
    assert set(differences["sureness"]) == {"sure", "likely"}
    assert said.sureness == "sure"
    for row in differences.iter_rows(named=True):
        probably = "probably " if row["sureness"] == "likely" else ""
        step = f"version {row['version']} {probably}scores higher than version {row['against']} in aroma"
        assert step in said.sentence


def test_many_versions_are_summed_up_and_drawn_as_means() -> None:
    result = report(panel(drawn_scores(30, [0, 0, 0, 0, 3], seed=5, sd=0.5)))
    named = "version 5 is liked better than version 4 (by 2.9 points), version 3 (by 2.9 points), version 2 (by"
    assert named in result.findings[0].sentence
    assert [chart.name for chart in result.charts] == ["means-1"]
    _everything_is_finite(result)


def test_only_overall_liking_asks_for_a_change() -> None:
    """One attribute of liking beside it may be clear by itself: that puts no version into service."""
    scores = pl.concat(
        [
            panel(drawn_scores(9, [0, 0], seed=3)),
            panel(drawn_scores(9, [0, 2], seed=1, sd=0.5), attribute="liking of the aroma", kind="liking"),
        ]
    )
    overall, aroma = report(scores, [("Harbour Light", 1, date(2026, 1, 1), None)]).findings[:2]
    assert overall.sureness == "cannot tell"
    assert "liking of the aroma: version 2 is liked better" in aroma.sentence
    assert (aroma.act, aroma.do) == (False, "")
    assert "Holm over 1 attribute" in aroma.statistics


def test_versions_in_doubt_for_their_order_are_told_in_one() -> None:
    scores = panel(drawn_scores(10, [1, 0, 0], seed=4, sd=0.4)).with_columns(position="version")
    told = report(scores).findings[0].sentence
    assert "cannot tell versions 2 from 1 and 3 from 1: the order of serving goes with the version" in told
    assert "; cannot tell version 3 from version 2: the difference is" in told
    assert told.endswith("taste it again with the orders mixed, as 'stillroom panel plan' draws them.")


def test_no_p_value_is_shown_as_nothing() -> None:
    result = report(panel(drawn_scores(30, [0, 0, 0, 0, 3], seed=5, sd=0.5)))
    for table in result.tables:
        assert not {name for name in table.columns if name == "p" or name.endswith("_p")} - {
            name for name, column in table.columns.items() if column.p_value
        }
        assert not any("0.0000" in row for row in table_cells(table).rows)
    differences = next(table for table in result.tables if table.name == "differences")
    assert any("<\u00a00.0001" in row for row in table_cells(differences).rows)


def test_versions_that_never_met_are_not_compared_and_it_says_so() -> None:
    scores = pl.concat(
        [
            panel(drawn_scores(9, [0, 1], seed=8), versions=(1, 2), session="spring"),
            panel(drawn_scores(9, [0, 1], seed=9), versions=(7, 8), session="winter"),
        ]
    )
    sentences = [finding.sentence for finding in report(scores).findings]
    assert any("1, 2 (session spring) and 7, 8 (session winter) never met in one session" in s for s in sentences)


def test_versions_linked_by_a_third_are_compared_and_it_says_so() -> None:
    scores = pl.concat(
        [
            panel(drawn_scores(9, [0, 1], seed=8), versions=(1, 2), session="spring"),
            panel(drawn_scores(9, [0, 1], seed=9), versions=(2, 3), session="summer"),
        ]
    )
    result = report(scores)
    assert any("only through versions that were in both" in note for note in result.notes)
    differences = next(table.frame for table in result.tables if table.name == "differences")
    assert differences.filter("never_met").select("against", "version").rows() == [(1, 3)]


def test_sessions_hang_together_as_a_graph_says() -> None:
    rng = np.random.default_rng(20261129)
    for _ in range(30):
        rows = {(int(rng.integers(8)), int(rng.integers(10))) for _ in range(int(rng.integers(2, 14)))}
        session, version = np.array(sorted(rows)).T
        of = connected_components(coo_array((np.ones(len(rows)), (session, version + 8)), shape=(18, 18)))[1][session]
        parts = _linked(pl.DataFrame({"session": [f"{number}" for number in session], "version": version}))
        assert sorted(part.height for part in parts) == sorted(np.unique(of, return_counts=True)[1])


@pytest.mark.parametrize(
    ("scores", "words"),
    [
        (panel([[5], [6], [7]]), "only version 1 was tasted"),
        (panel([[5, 6, 7]]), "only one panelist"),
        (panel([[5, 5], [5, 5]]), "all scores are the same"),
        (frame("panel_scores"), "No tastings up to 22 Nov 2026"),
        (panel([[5, 6], [5, 7]], tasted_on=date(2026, 12, 1)), "No tastings up to 22 Nov 2026"),
    ],
)
def test_bad_data_end_in_a_clear_line(scores: pl.DataFrame, words: str) -> None:
    result = report(scores)
    assert any(words in finding.sentence for finding in result.findings)
    _everything_is_finite(result)


def test_sessions_after_the_period_are_left_out_and_counted() -> None:
    scores = pl.concat([panel([[5, 6], [5, 7], [6, 6]]), panel([[5, 6]], session="later", tasted_on=date(2026, 12, 1))])
    result = report(scores)
    assert any("1 tasting session after 22 Nov 2026 left out" in note for note in result.notes)
    assert result.findings[0].evidence.startswith("liking: 6 scores")


def _trials(method: str, answers: Sequence[tuple[str | None, str | None]]) -> list[tuple[object, ...]]:
    return [
        ("first", date(2026, 10, 5), f"P{number}", method, "Harbour Light", 2, 3, *answer, None)
        for number, answer in enumerate(answers)
    ]


@pytest.mark.parametrize(
    ("right", "answers", "words"),
    [
        (
            8,
            12,
            "can tell version 3 from version 2 (8 of 12 right in the triangle test); about 50 % truly notice",
        ),
        (25, 60, "fewer than 30 % of people tell version 3 from version 2 (25 of 60 right in the triangle test)"),
        (
            5,
            12,
            "people notice version 3 from version 2 (5 of 12 right in the triangle test); about 61 more",
        ),
        (2, 2, "so few answers cannot show a difference"),
    ],
)
def test_triangle_tests_are_read(right: int, answers: int, words: str) -> None:
    given = _trials("triangle", [("yes", None)] * right + [("no", None)] * (answers - right))
    result = report(frame("panel_scores"), trials=given)
    assert words in result.findings[0].sentence
    _everything_is_finite(result)


def test_people_who_can_tell_are_not_none() -> None:
    # 7 of 12, the fewest that count: p = 0.0664 for 7, 0.0188 for 8; of 15, 9 right: p = 0.0308 (ISO 4120 table A.1).
    for right, answers in ((8, 12), (9, 15), (10, 17), (13, 24)):
        given = _trials("triangle", [("yes", None)] * right + [("no", None)] * (answers - right))
        sentence = report(frame("panel_scores"), trials=given).findings[0].sentence
        assert "people can tell" in sentence
        assert "(0 %" not in sentence


def test_repeats_of_one_person_weaken_what_is_said() -> None:
    answers = ["yes"] * 8 + ["no"] * 4
    alone = _trials("triangle", [(one, None) for one in answers])
    several = [(*row[:2], f"P{n // 4}", *row[3:]) for n, row in enumerate(alone)]
    first, second = (report(frame("panel_scores"), trials=rows).findings[0] for rows in (alone, several))
    assert first.sureness == "likely"
    assert second.sureness == "cannot tell"
    assert "the 12 answers count as 3 of people of their own" in second.evidence


def test_a_not_a_is_read_with_its_index() -> None:
    rows = [
        ("first", date(2026, 10, 5), f"P{n}", "A-not-A", "Harbour Light", 2, 3, "yes" if n % 5 else "no", None, given)
        for n, given in enumerate(["a"] * 20 + ["b"] * 20)
    ]
    finding = report(frame("panel_scores"), trials=rows).findings[0]
    assert "people can tell version 3 from version 2 (32 of 40 right in the A-not-A test)." in finding.sentence
    assert "Fisher's exact test" in finding.statistics
    assert "d′ 1.68" in finding.statistics  # z(0.8) - z(0.2), normal tables


@pytest.mark.parametrize(("right", "doubtful"), [(2, True), (3, False)])
def test_so_few_right_answers_are_no_finding_but_a_doubt(right: int, doubtful: bool) -> None:
    # Chance of at most 2 and of at most 3 right of 24 by guessing one in three: 0.5 % and 2.0 % (binomial, by hand).
    given = _trials("triangle", [("yes", None)] * right + [("no", None)] * (24 - right))
    finding = report(frame("panel_scores"), trials=given).findings[0]
    assert ("mixed up" in finding.sentence, finding.sureness == "cannot tell") == (doubtful, doubtful)


def test_a_preferred_version_that_is_not_in_service_is_to_be_acted_on() -> None:
    given = _trials("paired-preference", [(None, "b")] * 14 + [(None, "a")] * 2 + [(None, "none")])
    result = report(frame("panel_scores"), [("Harbour Light", 2, date(2026, 1, 1), None)], given)
    first = result.findings[0]
    assert "version 3 is preferred to version 2, by 14 of 16 who had a preference" in first.sentence
    assert first.act
    in_service_already = report(frame("panel_scores"), [("Harbour Light", 3, date(2026, 1, 1), None)], given)
    assert not in_service_already.findings[0].act


def test_nobody_with_a_preference_is_said() -> None:
    given = _trials("paired-preference", [(None, "none")] * 3)
    assert "nobody had a preference" in report(frame("panel_scores"), trials=given).findings[0].sentence


def test_just_about_right_names_the_costly_side() -> None:
    liking = [[8], [7], [8], [7], [8], [4], [3], [4], [5], [4]]
    sweet = [[3], [3], [3], [3], [3], [5], [4], [5], [4], [4]]
    judged = panel(sweet, attribute="sweet enough", kind="just-about-right", scale=(1, 5))
    result = report(pl.concat([panel(liking), judged]))
    said = [finding for finding in result.findings if "50 % call its sweet enough too much" in finding.sentence]
    assert said[0].act
    assert "like it less by 3.6 points" in said[0].sentence
    _everything_is_finite(result)


def test_just_about_right_is_no_liking_whatever_its_name() -> None:
    judged = panel([[2, 3], [2, 3], [3, 3], [2, 4], [3, 3], [1, 3]], kind="just-about-right", scale=(1, 5))
    found = report(judged, [("Harbour Light", 1, date(2026, 1, 1), None)]).findings
    assert found[0].sentence == (
        "Harbour Light: no liking was scored, so no version can be called better; see what differs below."
    )
    assert not any("better than" in finding.sentence or finding.act for finding in found)


def test_panelists_are_shown_by_code_unless_names_are_asked_for() -> None:
    frames = [panel(drawn_scores(6, [0, 1, 2], seed=s), attribute=a) for s, a in enumerate(["liking", "aroma"])]
    scores = pl.concat(frames).with_columns(panelist=pl.lit("Ms ") + pl.col("panelist"))
    by_code, by_name = report(scores), report(scores, show_names=True)
    for result, named in ((by_code, False), (by_name, True)):
        table = next(table.frame for table in result.tables if table.name == "panelists")
        assert table["panelist"].str.starts_with("Ms ").all() == named
    everything = [str(t.frame.rows()) for t in by_code.tables] + [json.dumps(c.chart) for c in by_code.charts]
    assert not any("Ms P" in text for text in everything)
    assert not any("Ms P" in finding.sentence + finding.evidence for finding in by_code.findings)


def test_agreement_of_a_panel_with_gaps_is_said_to_be_estimated() -> None:
    table: list[list[float | None]] = [list(row) for row in drawn_scores(8, [0, 1, 2], seed=5)]
    words = "estimated from all scores where some tasters missed a version"
    for gaps in (False, True):
        if gaps:
            table = [[None if n % 3 == v else s for v, s in enumerate(row)] for n, row in enumerate(table)]
        result = report(panel(table))
        agreement = next(table for table in result.tables if table.name == "agreement")
        assert (words in agreement.note, "tasted_all" in agreement.columns) == (gaps, gaps)
        assert agreement.frame["icc"].null_count() == 0
        assert agreement.frame["kendall_w"].is_null().all() == gaps
        _everything_is_finite(result)


def test_history_is_drawn_where_a_spec_was_tasted_more_than_once() -> None:
    scores = pl.concat(
        [
            panel(drawn_scores(9, [0, 1], seed=8), versions=(1, 2), session="spring", tasted_on=date(2026, 4, 1)),
            panel(drawn_scores(9, [0, 1], seed=9), versions=(2, 3), session="summer"),
        ]
    )
    assert "history" in [chart.name for chart in report(scores).charts]
    assert "history" not in [chart.name for chart in report(scores.filter(session="summer")).charts]


def test_drivers_of_liking_need_six_versions() -> None:
    effects = [0, 0.8, 1.6, 2.4, 3.2, 4.0]
    both = [panel(drawn_scores(12, effects, seed=s, sd=0.5), attribute=a) for s, a in enumerate(["liking", "aroma"])]
    sentences = [finding.sentence for finding in report(pl.concat(both)).findings]
    assert any("versions with more aroma are liked better" in sentence for sentence in sentences)
    few = [frame.filter(pl.col("version") < 6) for frame in both]
    assert not any("are liked better" in finding.sentence for finding in report(pl.concat(few)).findings)


def test_the_same_scores_give_the_same_report() -> None:
    scores = panel(drawn_scores(9, [0, 1, 1.5], seed=8))
    shuffled = scores.sample(fraction=1, shuffle=True, seed=3)
    one, other = report(scores), report(shuffled)
    assert one.findings == other.findings
    assert [c.chart for c in one.charts] == [c.chart for c in other.charts]


def _any_panel(seed: int) -> pl.DataFrame:
    """A panel as untidy as they come: few people, few different scores, gaps, repeats, sessions that hardly meet."""
    rng = np.random.default_rng(seed)
    people, versions, sessions, repeats = rng.integers(1, 7), rng.integers(1, 8), rng.integers(1, 4), rng.integers(1, 3)
    different, gaps = rng.integers(1, 6), rng.choice([0, 0, 0.1, 0.3, 0.6])
    rows = []
    for number in range(sessions):
        served = rng.permutation(versions)[: rng.integers(1, versions + 1)] + 1
        for attribute, kind in (("liking", "liking"), ("body", "intensity"), ("sweet enough", "just-about-right")):
            for person in range(people):
                rows += [
                    (f"s{number}", date(2026, 10, 1 + number), f"P{person}", "Harbour Light", int(version), attribute,
                     float(rng.integers(1, different + 1)), 1.0, 9.0, kind, None, None, repeat, None)
                    for version in served for repeat in range(1, repeats + 1) if rng.random() >= gaps
                ]  # fmt: skip
    return frame("panel_scores", rows)


@pytest.mark.parametrize("seed", [*range(12), 176, 254, 359, 420, 527])
def test_any_panel_ends_in_a_report_without_nan(seed: int) -> None:
    serving = [("Harbour Light", 1, date(2026, 1, 1), None)] if seed % 2 else []
    result = report(_any_panel(seed), serving, margin=0.5)
    assert result.findings
    _everything_is_finite(result)


def test_what_tasters_said_stands_beside_the_version_it_is_about():
    """The newest first; no name is shown where the house shows none."""
    said = [
        ("first", date(2026, 10, 5), "Ann", "Harbour Light", 1, "flat"),
        ("first", date(2026, 10, 5), "Bob", "Harbour Light", 2, "brighter"),
    ]
    scores = panel([[5, 6], [4, 6], [6, 7]])
    [shown] = [table for table in report(scores, comments=said).tables if table.name == "comments"]
    assert shown.subjects == "spec"
    assert shown.frame.select("version", "comment").rows() == [(2, "brighter"), (1, "flat")]
    assert "panelist" not in shown.columns
    [named] = [table for table in report(scores, comments=said, show_names=True).tables if table.name == "comments"]
    assert named.frame["panelist"].to_list() == ["Bob", "Ann"]
    assert not [table for table in report(scores).tables if table.name == "comments"]
