"""Seasons side by side, by hand."""

from datetime import date, timedelta

import pytest

from house_builder import HOUSE, SOURCES, good, make_house, plugins, put, take_in
from stillroom.api import OpenHouse

SEASONS = """
[[season]]
name = "Winter"
from = 2025-11-10
to = 2026-02-01
[[season]]
name = "Spring"
from = 2026-03-02
to = 2026-04-26
"""


@pytest.fixture(scope="module")
def house(tmp_path_factory):
    """Winter: 8 weeks without an export, 4 of 2 serves a day at 9; spring: 8 of 3 a day, beside another drink."""
    folder = tmp_path_factory.mktemp("house")
    made = make_house(folder, HOUSE + SEASONS + SOURCES)
    put(folder, "spec/spec.csv", [good("spec"), good("spec", spec="Pear Fizz"), good("spec", spec="Hay Flip")])
    put(
        folder,
        "spec_line/spec_line.csv",
        [good("spec_line", spec=name) for name in ("Fig Sour", "Pear Fizz", "Hay Flip")],
    )
    put(folder, "ingredient/ingredient.csv", [good("ingredient")])
    winter = [date(2026, 1, 5) + timedelta(days=n) for n in range(28)]
    spring = [date(2026, 3, 2) + timedelta(days=n) for n in range(56)]
    sales = [good("sale", sold_at=f"{day} 20:00", quantity=2, net_amount=18) for day in winter]
    sales += [good("sale", sold_at=f"{day} 20:00", quantity=3, net_amount=27) for day in spring]
    sales += [good("sale", sold_at=f"{winter[0]} 21:00", till_item="Hay Flip")]
    sales += [good("sale", sold_at=f"{spring[0]} 21:00", till_item="Pear Fizz")]
    put(folder, "sale/sale.csv", sales)
    take_in(made)
    return OpenHouse(settings=made, registry=plugins())


def test_the_season_before_is_held_beside_it_per_week(house):
    """Spring 1 521 in 8 weeks, winter 513 in the 4 that the till tells of: (1521 / 8) / (513 / 4) - 1."""
    review = house.document(season="Spring").review
    found = review.against
    assert found.label == "Winter"
    sales, change = found.figures[0]
    assert sales.value == pytest.approx(28 * 18 + 9)
    assert change.share == pytest.approx((56 * 27 + 9) / 8 / ((28 * 18 + 9) / 4) - 1)
    assert change.low <= change.share <= change.high
    assert review.figures[0].change == change
    assert review.figures[0].against == "Winter"


def test_what_came_stayed_and_went(house):
    found = house.document(season="Spring").review.against
    assert (found.came, found.stayed, found.went) == (("Pear Fizz",), ("Fig Sour",), ("Hay Flip",))
    [gain] = found.gains
    assert gain.name == "Fig Sour"
    assert gain.change.share == pytest.approx(0.5)


def test_the_first_season_stands_alone_and_any_can_be_asked_for(house):
    assert house.document(season="Winter").review.against is None
    assert house.document(season="Winter", against="spring").review.against.label == "Spring"


def test_the_page_has_a_place_for_it(house):
    from stillroom_reports.page import render_page

    text = render_page(house.document(season="Spring"))
    assert 'id="against"' in text
    assert "Beside Winter" in text
