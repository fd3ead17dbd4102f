"""Days on the menu and sales by week."""

from datetime import date, timedelta

import polars as pl
import pytest

from stillroom.analysis.menu.days import days_on_menu, menu_spans, weekly_serves
from store_frames import frame

MONDAY = date(2026, 9, 7)


def daily(rows: list[tuple[str, int, str, float]]) -> pl.DataFrame:
    return frame(
        "daily_serves",
        [(venue, MONDAY + timedelta(days=day), spec, serves, 10 * serves) for venue, day, spec, serves in rows],
        "venue business_date spec serves net_amount",
    )


def specs(rows: list[tuple[str, date | None, date | None]]) -> pl.DataFrame:
    drinks = [(spec, "drink", start, end) for spec, start, end in rows]
    return frame("current_spec", drinks, "spec kind in_service_from in_service_until")


def test_spans_follow_the_specs_and_are_widened_to_hold_every_sale() -> None:
    last = MONDAY + timedelta(days=13)
    sold = daily([("here", 3, "late", 2), ("here", 9, "taken off", 1), ("here", 1, "unwritten", 1)])
    written = specs(
        [
            ("late", MONDAY + timedelta(days=5), None),
            ("late", None, None),  # a trial version
            ("taken off", None, MONDAY + timedelta(days=6)),
            ("undated and unsold", None, None),
            ("other season", None, MONDAY - timedelta(days=1)),
        ]
    )
    found = {row[0]: row[1:] for row in menu_spans(written, sold, MONDAY, last).rows()}
    assert found == {
        "late": (MONDAY + timedelta(days=3), last),
        "taken off": (MONDAY, MONDAY + timedelta(days=9)),
        "unwritten": (MONDAY + timedelta(days=1), MONDAY + timedelta(days=1)),
    }


def test_closed_days_do_not_count_and_weekdays_have_their_weight() -> None:
    # Open on Friday (100 serves) and Saturday (300), two weeks; the second drink came for the last Saturday.
    sold = daily(
        [("here", day, "old", serves) for day, serves in ((4, 100), (5, 300), (11, 100), (12, 240))]
        + [("here", 12, "new", 60)]
    )
    spans = menu_spans(
        specs([("old", MONDAY, None), ("new", MONDAY + timedelta(days=12), None)]),
        sold,
        MONDAY,
        MONDAY + timedelta(days=13),
    )
    days = days_on_menu(spans, sold)
    total = {row[0]: row[1:] for row in days.group_by("spec").agg(pl.len(), pl.col("weight").sum()).rows()}
    assert total["old"] == pytest.approx((4, 4))
    assert total["new"] == pytest.approx((1, 1.5))
    weeks = weekly_serves(days, sold).filter(pl.col("spec") == "old")
    assert weeks["serves"].to_list() == [400, 340]
    assert weeks["weight"].to_list() == pytest.approx([2, 2])


def test_a_day_counts_once_and_the_smaller_of_two_venues_weighs_less() -> None:
    # Eight Mondays; the terrace sells a quarter of what the bar does, and closes after four.
    sold = daily(
        [("bar", 7 * week, "sour", 40) for week in range(8)] + [("terrace", 7 * week, "sour", 10) for week in range(4)]
    )
    days = days_on_menu(menu_spans(specs([]), sold, MONDAY, MONDAY + timedelta(days=60)), sold)
    weeks = weekly_serves(days, sold)
    assert weeks["serves_per_day"].to_list() == [50] * 4 + [40] * 4
    # What it sells for its weight is the same before and after: the drink has not fallen off, nor risen.
    assert (weeks["serves"] / weeks["weight"]).to_list() == pytest.approx([30] * 8)


def test_no_sales_give_empty_frames() -> None:
    none = daily([])
    spans = menu_spans(specs([]), none, MONDAY, MONDAY)
    days = days_on_menu(spans, none)
    assert spans.is_empty()
    assert weekly_serves(days, none).is_empty()
