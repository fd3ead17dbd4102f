"""Measurements against the spec and what came of them."""

from datetime import date, timedelta

import polars as pl
import pytest
from scipy.stats import hypergeom

from spec_frames import kitchen
from stillroom.analysis.batches.measured import kept_worse, liking_of_batches, measured_series
from stillroom.analysis.specs.book import SpecBook
from store_frames import frame

MADE = date(2026, 9, 1)


def batches(brix: list[float], name: str = "Plain syrup") -> pl.DataFrame:
    rows = [(f"{name}-{i}", name, 1, MADE + timedelta(days=7 * i), value, None) for i, value in enumerate(brix)]
    return frame("current_batch", rows, "batch preparation version made_on brix ph")


def book(abv: float | None = None) -> SpecBook:
    made = kitchen()
    made.spec("Plain syrup", "800 ml", "500 g sugar", f"500 g {'water' if abv is None else 'gin'}", keeps_days=20.0)
    return SpecBook(made.frames)


def test_equal_weights_of_sugar_and_water_are_fifty_brix_and_the_offset_is_found() -> None:
    [series] = measured_series(batches([53.0, 52.8, 53.3, 53.1, 52.9, 53.2, 53.0, 53.1]), book())
    assert series.target == pytest.approx(50.0)  # mass balance
    assert series.off_spec == pytest.approx(3.05, abs=0.01)
    [right] = measured_series(batches([50.1, 49.8, 50.3, 49.9, 50.2, 49.7, 50.0, 50.0]), book())
    assert right.off_spec is None


def test_alcohol_or_an_unknown_spec_gives_no_target() -> None:
    [series] = measured_series(batches([50.0, 50.1] * 4), book(abv=40))
    assert series.target is None
    [other] = measured_series(batches([50.0, 50.1] * 4, name="Nobody's"), book())
    assert other.target is None
    assert measured_series(batches([50.0, 50.1]), book()) == []


def test_whether_batches_off_target_kept_worse_is_fishers_exact_test() -> None:
    brix = [50.0, 50.2, 49.9, 50.1, 50.0, 49.8, 50.1, 50.0, 49.9, 50.2, 50.1, 58.0]
    series = measured_series(batches(brix), book())
    assert series[0].off_target == ("Plain syrup-11",)
    lives = batches(brix).select("batch", pl.col("batch").is_in(["Plain syrup-11", "Plain syrup-3"]).alias("spoiled"))
    found = kept_worse(series, lives)
    assert found is not None
    assert (found.off_spoiled, found.off, found.others_spoiled, found.others) == (1, 1, 1, 11)
    # One off batch among 12, two spoiled: the chance that it is one of them is 2 of 12.
    assert found.p_value == pytest.approx(hypergeom.pmf(1, 12, 2, 1)) == pytest.approx(2 / 12)
    assert kept_worse(measured_series(batches([50.0] * 8), book()), lives) is None


def test_a_session_tasted_the_batch_made_last_before_it() -> None:
    made = batches([50.0, 50.1] * 4)
    series = measured_series(made, book())
    fate = made.select("batch", (pl.col("made_on") + pl.duration(days=6)).alias("use_by"))
    scores = frame(
        "panel_scores",
        [
            ("Plain syrup", 1, MADE + timedelta(days=day), f"s{day}", attribute, score, 1.0, 9.0, kind)
            for day, attribute, kind, score in (
                (8, "Liking", None, 5.0),
                (8, "overall", "liking", 9.0),
                (8, "sweetness", "intensity", 1.0),
                (600, "Liking", None, 1.0),
                (-3, "Liking", None, 1.0),
            )
        ],
        "spec version tasted_on session attribute score scale_low scale_high scale_kind",
    )
    found = liking_of_batches(series, fate, scores)
    assert found.rows() == [("Plain syrup", "Plain syrup-1", "s8", 0.75, 2, False)]
    assert liking_of_batches([], fate, scores).is_empty()
