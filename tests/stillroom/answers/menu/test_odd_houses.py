"""What-ifs of houses that lack something."""

from datetime import date

import pytest

import stillroom
from house_builder import HOUSE, SOURCES, good, make_house, put
from stillroom.answers.menu.choose import Wish
from stillroom.answers.menu.request import read_change
from stillroom.errors import UsageError
from stillroom.objects import MenuChange

TWO = HOUSE + 'venues = ["Quay", "Loft"]\n[menu]\nreturn_share = 0.5\n'


def open_house(folder, settings, **tables):
    house = make_house(folder, settings + SOURCES)
    for table, rows in tables.items():
        put(house.folder, f"{table}/{table}.csv", rows)
    opened = stillroom.open(folder)
    opened.intake()
    return opened


def sales(**more):
    return [
        good("sale", sold_at=f"2026-03-{day:02d} 20:00", till_item=name, quantity=n, net_amount=9 * n, **more)
        for day in range(1, 29)
        for name, n in (("Fig Sour", 4), ("Gin Cup", 3))
    ]


SPECS = [good("spec", price=11), good("spec", spec="Gin Cup", price=11), good("spec", spec="New Cup", price=12)]
LINES = [good("spec_line", spec=name) for name in ("Fig Sour", "Gin Cup", "New Cup")]


def test_a_house_without_sales_says_what_to_do(tmp_path):
    house = open_house(tmp_path / "house", HOUSE, spec=SPECS)
    with pytest.raises(UsageError, match="take in a till export first"):
        house.what_if(MenuChange(drop=("Fig Sour",)))


def test_two_venues_without_a_preparation(tmp_path):
    rows = [*sales(venue="Quay"), *sales(venue="Loft")]
    house = open_house(tmp_path / "house", TWO, spec=SPECS, spec_line=LINES, ingredient=[good("ingredient")], sale=rows)
    found = house.what_if(read_change(drop=["Fig Sour"]))
    # By hand: both venues sell 28 a week of what goes, and half of its guests stay.
    assert found.figures["serves"].more == pytest.approx(-28, rel=0.15)
    assert found.preparations == ()
    assert found.figures["makings"].today == 0
    # Every drink of today's may go where a new one comes: nobody is left to return to.
    renewed = house.what_if(read_change(drop=["Fig Sour", "Gin Cup"], add=["New Cup"]))
    assert {one.drink: one.serves.then for one in renewed.drinks if one.drink != "New Cup"} == {
        "Fig Sour": 0.0, "Gin Cup": 0.0,
    }  # fmt: skip
    choice = house.choose_menu(Wish(drinks=1), MenuChange())
    assert choice.names(choice.choice.best.chosen) == ["Fig Sour"]
    assert house.last_days(date(2026, 4, 5), MenuChange()).lines == ()
