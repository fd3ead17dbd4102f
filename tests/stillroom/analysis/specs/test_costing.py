"""Costs by hand: prices of the day, usable share, a preparation's own yield, and what has no price."""

from datetime import date

import polars as pl
import pytest

from spec_frames import Book
from stillroom.analysis.specs.book import SpecBook
from stillroom.analysis.specs.costing import Cost, costs_on
from stillroom.analysis.specs.views import VIEWS

DAY = date(2026, 6, 1)


def priced() -> Book:
    book = Book()
    book.ingredient("gin", "700 ml", 14.0, abv_pct=40.0)  # 0.02 a ml
    book.ingredient("gin", "700 ml", 21.0, abv_pct=40.0, priced_on=date(2026, 7, 1))
    book.ingredient("sugar", "2 kg", 3.0, sugar_pct=100.0)  # 0.0015 a g
    book.ingredient("lemon", "1 kg", 4.0, usable_pct=40.0, acid_pct=4.8, density_g_ml=1.03)  # 0.01 a usable g
    book.ingredient("water", "1 l", 0.0, abv_pct=0.0, density_g_ml=0.998)
    book.ingredient("husk", "1 kg", 5.0, usable_pct=0.0)
    book.ingredient("kelp", "50 g")
    book.spec("syrup", "800 ml", "500 g sugar", "500 g water")
    book.spec("sour", "1 serve", "50 ml gin", "20 ml syrup", "25 g lemon")
    book.spec("punch", "10 serve", "500 ml gin", "500 ml water")
    book.spec("bottled", "120 ml", "50 ml gin", "70 ml water", kind="drink")
    book.spec("lemon shot", "1 serve", "20 ml lemon")
    book.spec("saline", "400 ml", "20 g kelp", "400 ml water")
    book.spec("odd", "1 serve", "50 ml gin", "2 ml saline", "1 each moon")
    book.spec("sour mix", "500 g", "300 ml lemon", "150 ml syrup")
    book.spec("mixed", "1 serve", "50 ml gin", "40 ml sour mix", "10 g syrup")
    book.spec("to come", "500 ml")
    book.spec("hopeful", "1 serve", "50 ml gin", "20 ml to come")
    return book


@pytest.fixture(scope="module")
def views() -> dict[str, pl.DataFrame]:
    """What the store makes of the book: it unfolds, and costs in SQL."""
    return priced().views(*VIEWS, "part_cost", "spec_cost", "price_span")


def cost(views: dict[str, pl.DataFrame], spec: str, day: date = DAY) -> Cost:
    return costs_on(views["part_cost"], day).of(SpecBook(views, day).specs[spec, 1])


def test_a_pack_costs_its_price_over_its_usable_share(views: dict[str, pl.DataFrame]) -> None:
    found = {row["item_key"]: row for row in views["price_span"].iter_rows(named=True)}
    assert found["lemon"]["unit_cost"] == pytest.approx(4.0 / (1000 * 0.40))
    assert found["lemon"]["base"] == "g"
    assert found["sugar"]["unit_cost"] == pytest.approx(3.0 / 2000)
    assert found["husk"]["unit_cost"] is None  # nothing of it is usable


@pytest.mark.parametrize(
    ("spec", "expected"),
    [
        ("syrup", 0.75),  # 500 x 0.0015
        ("sour", 1.26875),  # 50 x 0.02 + 20 of 800 ml of 0.75 + 25 x 0.01
        ("punch", 1.0),  # 500 x 0.02 over 10 serves
        ("bottled", 1.0),  # a drink whose yield is not in serves is one serve
        ("lemon shot", 0.206),  # 20 ml x 1.03 g/ml x 0.01
    ],
)
def test_by_hand(views: dict[str, pl.DataFrame], spec: str, expected: float) -> None:
    assert cost(views, spec).whole == pytest.approx(expected)


def test_the_price_in_force_on_the_day(views: dict[str, pl.DataFrame]) -> None:
    assert cost(views, "punch", date(2026, 6, 30)).whole == pytest.approx(1.0)
    assert cost(views, "punch", date(2026, 7, 1)).whole == pytest.approx(1.5)
    assert cost(views, "punch", date(2025, 12, 31)) == Cost(known=0.0, missing=("gin", "water"))


def test_a_missing_price_leaves_a_floor_and_a_name(views: dict[str, pl.DataFrame]) -> None:
    found = cost(views, "odd")
    assert found.whole is None
    assert found.known == pytest.approx(1.0)
    assert found.missing == ("kelp", "moon")


def test_a_spec_without_lines_is_missed_not_taken_for_free(views: dict[str, pl.DataFrame]) -> None:
    assert cost(views, "to come") == Cost(known=0.0, missing=("to come",))
    assert cost(views, "hopeful").whole is None
    assert cost(views, "hopeful") == Cost(known=pytest.approx(1.0), missing=("to come",))


def test_the_cost_of_a_spec_is_that_of_its_parts(views: dict[str, pl.DataFrame]) -> None:
    rows = views["spec_cost"].to_dicts()
    assert {row["spec"] for row in rows} == set(priced().specs["spec"])
    for row in rows:
        own = cost(views, row["spec"], row["priced_from"])
        assert own.known == pytest.approx(row["cost_known"], abs=1e-6)
        assert "; ".join(own.missing) == (row["missing"] or "")
