"""A price holds from its day on: before an ingredient's first price, every report says that there is none."""

from __future__ import annotations

import pytest

from house_builder import command, good, make_house, put, take_in
from stillroom.house.house import House

PRICED_ON = "2026-03-03"
PERIOD = ("--from", "2026-03-02", "--to", "2026-03-04")


@pytest.fixture
def house(tmp_path) -> House:
    """A sour of 50 ml of gin at EUR 0.03 a ml from 3 March on, sold at EUR 9 once on the 2nd and twice after."""
    house = make_house(tmp_path)
    put(tmp_path, "spec/spec.csv", [good("spec", price="11", in_service_from="2026-01-01")])
    put(tmp_path, "spec_line/lines.csv", [good("spec_line")])
    put(tmp_path, "ingredient/prices.csv", [good("ingredient", priced_on=PRICED_ON)])
    put(tmp_path, "sale/sale.csv", [good("sale", sold_at=f"2026-03-{day:02} 20:00") for day in (2, 3, 4)])
    take_in(house)
    return house


def report(house: House, name: str, *period: str) -> str:
    said = command("report", name, *period, "--format", "json", house=house)
    return " ".join(f"{f['sentence']} {f['evidence']}" for f in said.json["reports"][0]["findings"])


def test_a_season_partly_without_a_price_says_so_and_costs_the_rest(house):
    said = report(house, "season", *PERIOD)
    assert "Part of the period has no price for gin before 2026-03-03" in said
    assert "67 % of Fig Sour has a price" in said
    assert "left EUR 22.50 over" in said  # three serves at 9 less 1.50


def test_a_season_mostly_without_a_price_gives_a_lower_bound_alone(house):
    said = report(house, "season", "--from", "2026-03-02", "--to", "2026-03-02")
    assert "What Fig Sour costs is not known: no price for gin before 2026-03-03." in said
    assert "over" not in said


def test_the_cost_of_sales_is_one_of_priced_days_and_says_so(house):
    said = report(house, "cost", *PERIOD)
    assert "should have cost at least EUR 3.00, with no price for gin" in said


def test_a_period_that_is_priced_throughout_says_nothing_of_it(house):
    days = ("--from", PRICED_ON, "--to", "2026-03-04")
    assert "no price" not in report(house, "season", *days)
    assert "no price" not in report(house, "cost", *days)
