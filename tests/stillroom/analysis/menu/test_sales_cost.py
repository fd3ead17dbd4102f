"""Theoretical cost of sales, price changes and what they do: worked by hand."""

from datetime import date

import polars as pl
import pytest

from spec_frames import Book
from stillroom.analysis.menu.sales_cost import cost_of_sales, price_changes, price_effects
from stillroom.analysis.specs.costing import costs_on
from store_frames import frame


def views() -> dict[str, pl.DataFrame]:
    """A sour of gin and kelp, whose prices change."""
    book = Book()
    book.spec("sour", "1 serve", "50 ml gin", "2 g kelp")
    book.ingredient("gin", "1000 ml", 20.0)
    book.ingredient("gin", "1000 ml", 25.0, priced_on=date(2026, 3, 10))
    book.ingredient("gin", "1000 ml", 25.0, priced_on=date(2026, 3, 20))  # named again, not changed
    book.ingredient("kelp", "100 g")
    book.ingredient("kelp", "100 g", 5.0, priced_on=date(2026, 3, 10))
    return book.views("part_cost", "price_change")


def sales(*rows: tuple[int, float]) -> pl.DataFrame:
    """Serves of the sour by day of March 2026."""
    sold = [("sour", 1, date(2026, 3, day), serves) for day, serves in rows]
    return frame("daily_serves", sold, "spec version business_date serves")


def test_serves_cost_what_their_day_s_prices_say() -> None:
    found = cost_of_sales(sales((5, 10.0), (10, 4.0), (21, -1.0)), views()["part_cost"])
    rows = {row["item"]: row for row in found.iter_rows(named=True)}
    # 10 serves of 50 ml at 0.020, 3 (one was taken back) at 0.025; kelp 3 serves of 2 g at 0.05.
    assert rows["gin"]["cost"] == pytest.approx(10 * 1.0 + 3 * 1.25)
    assert rows["gin"]["unpriced_serves"] == 0
    assert rows["kelp"]["cost"] == pytest.approx(3 * 0.10)
    assert rows["kelp"]["unpriced_serves"] == 10


def test_no_sales_cost_nothing() -> None:
    assert cost_of_sales(sales(), views()["part_cost"]).is_empty()


def test_a_price_change_and_what_it_does_to_a_serve() -> None:
    changes = price_changes(views()["price_change"], date(2026, 3, 31))
    assert changes.to_dicts() == [
        {
            "item": "gin",
            "item_key": "gin",
            "changed_on": date(2026, 3, 10),
            "base": "ml",
            "before": pytest.approx(0.020),
            "after": pytest.approx(0.025),
            "change": pytest.approx(0.25),
        }
    ]
    costs = costs_on(views()["part_cost"], date(2026, 3, 31)).frame
    (effect,) = price_effects(changes, costs, sales((5, 90.0), (10, 4.0), (25, 6.0))).to_dicts()
    assert effect["per_serve"] == pytest.approx(0.25)  # 50 ml at 0.005 more
    assert effect["serves"] == 10  # since the day of the change
    assert effect["in_all"] == pytest.approx(2.5)
    (returned,) = price_effects(changes, costs, sales((5, 90.0), (25, -6.0))).to_dicts()
    assert returned["in_all"] == 0  # a dearer price saves nothing on what was taken back


def test_before_the_change_there_is_none() -> None:
    assert price_changes(views()["price_change"], date(2026, 3, 9)).is_empty()
