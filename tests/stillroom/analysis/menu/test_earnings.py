"""Cost and contribution of a serve: arithmetic done by hand."""

from datetime import date

import polars as pl
import pytest

from stillroom.analysis.menu.earnings import earnings
from store_frames import frame

ALWAYS = date(1900, 1, 1)
DAYS = (date(2026, 8, 31), date(2026, 9, 8), date(2026, 9, 9))
COSTS = frame(
    "spec_cost",
    [
        ("Pear Sour", 1, ALWAYS, None, 0.5, "pear"),
        ("Pear Sour", 1, date(2026, 9, 1), 2.0, 2.0, None),
        ("Pear Sour", 1, date(2026, 10, 1), 3.0, 3.0, None),
        ("Pear Sour", 2, date(2026, 9, 1), 4.0, 4.0, None),
        ("Fig Fizz", 1, ALWAYS, None, 1.5, "fig leaf; soda"),
    ],
    "spec version priced_from cost cost_known missing",
)


def daily(rows: list[tuple[str, int | None, date, float, float]]) -> pl.DataFrame:
    return frame("daily_serves", rows, "spec version business_date serves net_amount")


def test_each_day_costs_what_its_version_cost_that_day() -> None:
    sold = daily(
        [
            ("Pear Sour", 1, date(2026, 9, 30), 10, 100),  # 2
            ("Pear Sour", 1, date(2026, 10, 1), 10, 100),  # 3
            ("Pear Sour", 2, date(2026, 10, 2), 20, 200),  # 4
        ]
    )
    row = earnings(sold, COSTS).row(0, named=True)
    assert row["cost_per_serve"] == pytest.approx((2 + 3 + 4 + 4) / 4)
    assert row["contribution"] == pytest.approx(10 - 3.25)
    assert row["costed_share"] == 1
    assert row["missing"] is None


def test_a_missing_price_gives_a_lower_bound_and_no_contribution() -> None:
    row = earnings(daily([("Fig Fizz", 1, date(2026, 9, 1), 4, 44)]), COSTS).row(0, named=True)
    assert row["cost_at_least"] == pytest.approx(1.5)
    assert (row["cost_per_serve"], row["contribution"]) == (None, None)
    assert row["missing"] == "fig leaf; soda"


def test_serves_without_a_version_in_service_take_the_cost_of_the_others() -> None:
    mostly = daily([("Pear Sour", 2, date(2026, 9, 1), 9, 90), ("Pear Sour", None, date(2026, 9, 2), 1, 10)])
    row = earnings(mostly, COSTS).row(0, named=True)
    assert (row["cost_per_serve"], row["costed_share"]) == (pytest.approx(4), pytest.approx(0.9))
    hardly = daily([("Pear Sour", 2, date(2026, 9, 1), 1, 10), ("Pear Sour", None, date(2026, 9, 2), 9, 90)])
    assert earnings(hardly, COSTS)["contribution"].to_list() == [None]


def test_days_before_the_first_price_have_no_cost() -> None:
    """Where half of the serves have one, theirs stands for the drink; else there is a lower bound only."""
    sold = [("Pear Sour", 1, date(2026, 8, 31), 4.0, 44.0), ("Pear Sour", 1, date(2026, 9, 1), 6.0, 66.0)]
    row = earnings(daily(sold), COSTS).row(0, named=True)
    assert (row["cost_per_serve"], row["contribution"]) == (2.0, 9.0)
    assert row["costed_share"] == pytest.approx(0.6)
    assert row["missing"] == "pear before 2026-09-01"
    row = earnings(daily(sold[:1]), COSTS).row(0, named=True)
    assert (row["cost_per_serve"], row["contribution"], row["cost_at_least"]) == (None, None, 0.5)
    row = earnings(daily(sold[1:]), COSTS).row(0, named=True)
    assert (row["costed_share"], row["missing"]) == (1.0, None)


def test_each_missing_item_says_from_when_it_has_a_price_to_the_last() -> None:
    costs = pl.DataFrame(
        [
            ("Pear Sour", 1, ALWAYS, None, 0.0, "pear; soda; wax"),
            ("Pear Sour", 1, date(2026, 9, 1), None, 2.0, "soda; wax"),
            ("Pear Sour", 1, date(2026, 9, 9), None, 2.5, "wax"),
        ],
        schema=COSTS.schema,
        orient="row",
    )
    on_day = {day: earnings(daily([("Pear Sour", 1, day, 4, 44)]), costs)["missing"].item() for day in DAYS}
    assert on_day == {
        DAYS[0]: "pear before 2026-09-01; soda before 2026-09-09; wax",
        DAYS[1]: "soda before 2026-09-09; wax",
        DAYS[2]: "wax",
    }


def test_a_drink_only_voided_and_no_costs_at_all() -> None:
    row = earnings(daily([("Pear Sour", 1, date(2026, 9, 1), 0, 0)]), COSTS.clear()).row(0, named=True)
    assert (row["net_per_serve"], row["cost_per_serve"], row["costed_share"]) == (None, None, None)
    assert earnings(daily([]), COSTS).is_empty()


def test_what_is_taken_back_at_another_price_does_not_bend_the_cost_of_a_serve() -> None:
    sold = daily([("Pear Sour", 1, date(2026, 9, 30), 10, 100), ("Pear Sour", 1, date(2026, 10, 1), -9, -90)])
    row = earnings(sold, COSTS).row(0, named=True)
    assert (row["serves"], row["cost_per_serve"], row["costed_share"]) == (1, 2.0, 1.0)  # not (10 x 2 - 9 x 3) / 1
    before = daily([("Pear Sour", 1, date(2026, 9, 30), 10, 100), ("Pear Sour", 1, date(2026, 8, 30), -5, -50)])
    row = earnings(before, COSTS).row(0, named=True)
    assert (row["cost_per_serve"], row["costed_share"], row["missing"]) == (2.0, 1.0, None)
