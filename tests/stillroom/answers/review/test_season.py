"""The figures and the picture of a season that can be reckoned by hand."""

from datetime import date, timedelta

import polars as pl
import pytest

from house_builder import good, make_house, plugins, put, take_in
from stillroom.api import OpenHouse

MONDAY = date(2026, 3, 2)


def review(folder, days=42, **more):
    house = make_house(folder)
    put(folder, "spec/spec.csv", [good("spec", price=10), *more.get("spec", [])])
    put(folder, "spec_line/spec_line.csv", [good("spec_line"), *more.get("spec_line", [])])
    put(folder, "ingredient/ingredient.csv", [good("ingredient")])
    sales = [
        good("sale", sold_at=f"{MONDAY + timedelta(days=n)} 20:00", quantity=2, net_amount=18) for n in range(days)
    ]
    put(folder, "sale/sale.csv", [*sales, *more.get("sale", [])])
    take_in(house)
    return OpenHouse(settings=house, registry=plugins()).document().review


def test_sales_and_what_is_left_over_by_hand(tmp_path):
    """42 days of 2 serves at 9.00: 756 sold; 50 ml of gin at 0.03 a ml are 1.50 a serve: 756 - 84 x 1.50 = 630 left."""
    found = review(tmp_path)
    sales, left, lost, doubtful = found.figures
    assert (sales.value, left.value) == (pytest.approx(756), pytest.approx(630))
    assert left.share == pytest.approx(630 / 756)
    assert lost.value is None
    assert doubtful.value == 0
    assert sales.weeks == pytest.approx([126.0] * 6)
    assert (sales.low, sales.high) == (pytest.approx(756), pytest.approx(756))  # every week alike
    assert found.unknown == ""
    [drink] = found.drinks
    assert (drink.name, drink.whole, drink.contribution) == ("Fig Sour", True, pytest.approx(630))


def test_a_drink_whose_cost_is_not_whole_shows_the_most_it_can_have_left(tmp_path):
    line = good("spec_line", line=2, item="kelp", amount=1, unit="g")
    found = review(tmp_path, spec_line=[line])
    [drink] = found.drinks
    assert (drink.whole, drink.contribution) == (False, pytest.approx(630))
    assert found.figures[1].value is None
    assert found.unknown == "What Fig Sour costs is not known."
    assert found.figures[3].value == pytest.approx(756)


def test_till_lines_without_a_drink_are_doubtful(tmp_path):
    odd = good("sale", sold_at="2026-03-03 21:00", till_item="MYSTERY", net_amount=44)
    assert review(tmp_path, sale=[odd]).figures[3].value == pytest.approx(44)


def test_the_share_in_doubt_is_of_the_whole_till(tmp_path):
    """42 days at 18, 44 in doubt, and 200 of food that is known not to be ours: 44 of 1 000."""
    odd = good("sale", sold_at="2026-03-03 21:00", till_item="MYSTERY", net_amount=44)
    food = good("sale", sold_at="2026-03-03 21:01", till_item="OLIVES", net_amount=200)
    put(tmp_path, "till_match/a.csv", [good("till_match", till_item="OLIVES", spec="", serves="")])
    assert review(tmp_path, sale=[odd, food]).figures[3].share == pytest.approx(0.044)


@pytest.mark.parametrize("days", [1, 7])
def test_a_day_or_a_week_is_shown_without_an_interval(tmp_path, days):
    found = review(tmp_path, days=days)
    assert found.figures[0].low is None
    assert found.drinks[0].low is None
    assert found.figures[0].value == pytest.approx(18 * days)


def test_a_new_version_is_dated(tmp_path):
    second = good("spec", version=2, price=11, in_service_from="2026-03-16")
    first = good("spec", price=10, in_service_from="2026-03-02")
    house = make_house(tmp_path)
    put(tmp_path, "spec/spec.csv", [first, second])
    put(tmp_path, "spec_line/spec_line.csv", [good("spec_line"), good("spec_line", version=2)])
    put(tmp_path, "sale/sale.csv", [good("sale", sold_at=f"{MONDAY + timedelta(days=n)} 20:00") for n in range(28)])
    take_in(house)
    [drink] = OpenHouse(settings=house, registry=plugins()).document().review.drinks
    assert drink.dated == ((date(2026, 3, 16), "version 2, dearer"),)
    assert ("version 2, dearer, 16 Mar", "dated") in [(word.text, word.tone) for word in drink.words]


def test_a_trial_is_the_highest_version_without_dates_beside_dated_ones():
    from stillroom.answers.review.season import trial_version

    spec = pl.DataFrame(
        {
            "spec": ["A", "A", "B"],
            "version": [1, 2, 1],
            "in_service_from": [MONDAY, None, None],
            "in_service_until": [None, None, None],
        },
        schema_overrides={"in_service_until": pl.Date},
    )
    assert trial_version(spec, "a") == 2
    assert trial_version(spec, "B") is None
