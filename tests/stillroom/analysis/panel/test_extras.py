"""Just-about-right scales, drivers of liking and history, against SciPy and plain arithmetic."""

from __future__ import annotations

from datetime import date

import numpy as np
import polars as pl
import pytest
from scipy import stats

from panel_frames import drawn_scores, panel
from stillroom.analysis.panel.drivers import liking_drivers
from stillroom.analysis.panel.history import panel_history
from stillroom.analysis.panel.penalty import penalties
from stillroom.analysis.panel.verdicts import compare_versions
from store_frames import frame


def _judged() -> pl.DataFrame:
    liking = [[7], [8], [7.5], [5], [4], [5.5], [6], [6]]
    sweet = [[3], [3], [3], [5], [4], [4], [2], [3]]
    judged = panel(sweet, attribute="sweet enough", kind="just-about-right", scale=(1, 5))
    return pl.concat([panel(liking), judged])


def test_penalty_is_the_mean_drop_with_welchs_interval() -> None:
    found = {row["side"]: row for row in penalties(_judged()).iter_rows(named=True)}
    right, much = np.array([7, 8, 7.5, 6]), np.array([5, 4, 5.5])
    interval = stats.ttest_ind(right, much, equal_var=False).confidence_interval()
    row = found["too much"]
    assert row["share"] == 3 / 8
    assert row["drop"] == pytest.approx(right.mean() - much.mean())
    assert row["penalty"] == pytest.approx((right.mean() - much.mean()) * 3 / 8)
    assert (row["low"], row["high"]) == pytest.approx((interval.low, interval.high))


def test_one_panelist_on_a_side_is_counted_but_no_mean_is_compared() -> None:
    found = {row["side"]: row for row in penalties(_judged()).iter_rows(named=True)}
    assert (found["too little"]["count"], found["too little"]["drop"]) == (1, None)
    assert sum(row["share"] for row in found.values()) == pytest.approx(1)


def test_without_liking_the_distribution_alone_is_given() -> None:
    found = penalties(_judged().filter(pl.col("attribute") != "liking"))
    assert found["count"].to_list() == [1, 4, 3]
    assert found["liking"].is_null().all()


def test_drivers_are_the_correlation_across_versions() -> None:
    effects = [0, 0.5, 1, 1.5, 2, 2.5]
    scores = pl.concat(
        [panel(drawn_scores(9, effects, seed=1)), panel(drawn_scores(9, effects[::-1], seed=2), attribute="sourness")]
    )
    comparison = compare_versions(scores)
    row = liking_drivers(comparison.means, comparison.tests).row(0, named=True)
    means = {name: comparison.means.filter(pl.col("attribute") == name)["mean"] for name in ("liking", "sourness")}
    expected = stats.linregress(means["sourness"], means["liking"])
    assert (row["correlation"], row["slope"]) == pytest.approx((expected.rvalue, expected.slope))
    assert -1 <= row["low"] < row["correlation"] < row["high"] <= 1


def test_drivers_are_silent_below_six_versions() -> None:
    table = drawn_scores(9, [0, 1, 2, 3, 4], seed=3)
    comparison = compare_versions(pl.concat([panel(table), panel(table, attribute="sourness")]))
    assert liking_drivers(comparison.means, comparison.tests).is_empty()


def test_history_keeps_sessions_apart() -> None:
    scores = pl.concat(
        [
            panel([[4, 6], [6, 7]], session="spring", tasted_on=date(2026, 4, 1)),
            panel([[8, 9], [9, 9]], session="summer", tasted_on=date(2026, 7, 1)),
        ]
    )
    found = panel_history(scores)
    assert found.select("session", "version", "mean").rows() == [
        ("spring", 1, 5.0), ("spring", 2, 6.5), ("summer", 1, 8.5), ("summer", 2, 9.0),
    ]  # fmt: skip
    interval = stats.t.interval(0.95, 1, 5.0, 1.0)
    assert found.select("low", "high").row(0) == pytest.approx(interval)
    assert found["low"][3] == found["high"][3] == 9.0


def test_history_of_one_panelist_has_no_interval() -> None:
    assert panel_history(panel([[4, 6]]))["low"].is_null().all()
    assert panel_history(frame("panel_scores")).is_empty()
