"""What a panelist's scores tell of the panelist, against ISO 8586's example and plain loops."""

from __future__ import annotations

from itertools import combinations

import numpy as np
import polars as pl
import pytest
from scipy import stats

from panel_frames import drawn_scores, panel
from stillroom.analysis.panel.agreement import intraclass_correlations, kendall_w
from stillroom.analysis.panel.panelists import panel_agreement, panelist_codes, panelist_performance
from store_frames import frame

# ISO 8586 annex C: assessors 1 and 4, six samples, three repeats each.
ASSESSORS = {
    "P000": [[8, 8, 9], [6, 8, 7], [4, 5, 5], [6, 6, 5], [4, 5, 3], [5, 6, 6]],
    "P001": [[9, 8, 8], [7, 7, 6], [5, 5, 5], [6, 5, 5], [4, 5, 4], [7, 5, 7]],
}


def _iso_8586() -> pl.DataFrame:
    repeats = np.array(list(ASSESSORS.values())).transpose(2, 0, 1)
    return pl.concat([panel(table.tolist(), replicate=number) for number, table in enumerate(repeats, 1)])


def test_repeatability_and_discrimination_of_iso_8586() -> None:
    found = panelist_performance(_iso_8586())
    assert found["repeatability"].to_list() == pytest.approx([0.75, 0.67], abs=5e-3)
    assert found["discrimination_f"].to_list() == pytest.approx([13.36, 13.80], abs=5e-3)
    assert found["discrimination_p"].to_list() == pytest.approx(stats.f.sf([13.36, 13.80], 5, 12).tolist(), rel=0.01)


def test_agreement_is_the_correlation_with_the_mean_of_the_others() -> None:
    table = np.array(drawn_scores(5, [0, 1, 2, 0, 1, 3], seed=1))
    found = panelist_performance(panel(table.tolist()))
    for person, row in enumerate(found.iter_rows(named=True)):
        others = np.delete(table, person, axis=0).mean(axis=0)
        assert row["agreement"] == pytest.approx(np.corrcoef(table[person], others)[0, 1])
        assert row["level"] == pytest.approx((table[person] - others).mean())
        assert row["spread"] == pytest.approx(table[person].std() / others.std())


def test_scales_of_several_widths_are_put_on_the_one_used_most() -> None:
    liking, aroma = (np.array(drawn_scores(5, [0, 1, 2, 0, 1, 3], seed=number)) for number in (4, 5))
    wide = 12.5 * (aroma - 1)  # from 1 to 9, written as 0 to 100
    alike = [panel(liking.tolist()), panel(liking.tolist(), attribute="sweetness")]
    same = pl.concat([*alike, panel(aroma.tolist(), attribute="aroma")])
    mixed = pl.concat([*alike, panel(wide.tolist(), attribute="aroma", scale=(0, 100))])
    for one, other in zip(panelist_performance(same).rows(), panelist_performance(mixed).rows(), strict=True):
        assert one[0] == other[0]
        assert [value for value in one[1:] if value is not None] == pytest.approx(
            [v for v in other[1:] if v is not None]
        )


def test_too_few_samples_leave_agreement_open() -> None:
    found = panelist_performance(panel(drawn_scores(5, [0, 1, 2], seed=2)))
    assert found["agreement"].is_null().all()
    assert found["repeatability"].is_null().all()


@pytest.mark.parametrize("scores", [panel([[5, 5, 5], [5, 5, 5]]), panel([[4, 5, 6]]), frame("panel_scores")])
def test_nothing_to_say_is_null_not_nan(scores: pl.DataFrame) -> None:
    found = panelist_performance(scores)
    assert not any(column.is_nan().any() for column in found.select(pl.selectors.float()).iter_columns())
    assert panel_agreement(scores).is_empty()


def test_who_missed_a_version_counts_for_the_correlations_and_not_for_kendalls_w() -> None:
    table: list[list[float | None]] = [list(row) for row in drawn_scores(7, [0, 1, 2], seed=3)]
    w = kendall_w(np.array(table[1:], float))
    table[0][1] = None
    expected = intraclass_correlations(np.array(table, float).T)["ICC(2,1)"].value
    found = panel_agreement(panel(table)).filter(pl.col("form") == "ICC(2,1)").row(0, named=True)
    assert (found["panelists"], found["tasted_all"]) == (7, 6)
    assert (found["icc"], found["kendall_w"]) == (pytest.approx(expected), pytest.approx(w))


def test_agreement_where_nobody_tasted_every_version() -> None:
    # A balanced incomplete design: every three of five versions, tasted by three panelists each.
    drawn = drawn_scores(30, [0, 1, 2, 0, 1], seed=4)
    tasted = list(combinations(range(5), 3)) * 3
    table = [[s if v in own else None for v, s in enumerate(row)] for row, own in zip(drawn, tasted, strict=True)]
    found = panel_agreement(panel(table))
    assert found.height == 6
    assert set(found.select("panelists", "versions", "tasted_all", "kendall_w").rows()) == {(30, 5, 0, None)}
    assert (found["low"] < found["icc"]).all()
    assert (found["icc"] < found["high"]).all()


def test_agreement_of_a_complete_panel_is_the_analysis_of_variances() -> None:
    # Shrout & Fleiss (1979), table 2, judges as panelists.
    judges = [[9, 6, 8, 7, 10, 6], [2, 1, 4, 1, 5, 2], [5, 3, 6, 2, 6, 4], [8, 2, 8, 6, 9, 7]]
    found = panel_agreement(panel(judges))
    assert found["icc"].round(2).to_list() == [0.17, 0.44, 0.29, 0.62, 0.71, 0.91]
    assert set(found["tasted_all"]) == {4}


def test_one_version_a_panelist_leaves_no_agreement_to_measure() -> None:
    assert panel_agreement(panel([[5, None], [None, 6], [4, None], [None, 7]])).is_empty()


def test_codes_are_the_same_again_and_not_in_the_order_of_the_names() -> None:
    names = [f"name {letter}" for letter in "abcdefghijkl"]
    codes = panelist_codes(names)
    assert codes == panelist_codes(names[::-1])
    assert sorted(codes.values()) == [f"T{number:02}" for number in range(1, 13)]
    assert [codes[name] for name in names] != sorted(codes.values())
