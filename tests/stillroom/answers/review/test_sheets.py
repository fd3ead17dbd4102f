"""A sheet for every drink, preparation and garnish."""

from datetime import date, timedelta

import pytest

from house_builder import good, make_house, plugins, put, take_in
from stillroom.api import OpenHouse

MONDAY = date(2026, 3, 2)


@pytest.fixture(scope="module")
def sheets(tmp_path_factory):
    """A drink of 50 ml gin and 20 ml fig cordial, in two versions; a batch of 650 ml, of which 6 serves took 120."""
    folder = tmp_path_factory.mktemp("house")
    house = make_house(folder)
    cordial = {"spec": "Fig Cordial", "kind": "preparation", "yield_amount": 650, "yield_unit": "ml", "keeps_days": 5}
    put(
        folder,
        "spec/spec.csv",
        [
            good("spec", price=9, in_service_from="2026-03-02", in_service_until="2026-03-08"),
            good("spec", version=2, price=10, in_service_from="2026-03-09"),
            good("spec", **cordial),
        ],
    )
    line = {"item": "Fig Cordial", "amount": 20, "line": 2}
    put(
        folder,
        "spec_line/spec_line.csv",
        [
            good("spec_line"),
            good("spec_line", **line),
            good("spec_line", version=2, amount=40),
            good("spec_line", **line, version=2),
            good("spec_line", spec="Fig Cordial", item="figs", amount=500, unit="g"),
        ],
    )
    figs = good("ingredient", item="figs", pack_amount=1000, pack_unit="g", pack_cost=13, allergens="sulphites")
    put(folder, "ingredient/ingredient.csv", [good("ingredient"), figs])
    put(folder, "till_match/till_match.csv", [good("till_match")])
    put(
        folder,
        "sale/sale.csv",
        [good("sale", sold_at=f"{MONDAY + timedelta(days=n)} 20:00", till_item="FIG SR") for n in range(14)],
    )
    put(folder, "batch/batch.csv", [good("batch", brix=40)])
    put(folder, "batch_event/batch_event.csv", [good("batch_event", happened_on="2026-03-07", event="poured away")])
    take_in(house)
    found = OpenHouse(settings=house, registry=plugins()).document().review.sheets
    return {sheet.name: sheet for sheet in found}


def test_every_thing_of_the_spec_book_has_one(sheets):
    assert [(sheet.name, sheet.kind) for sheet in sheets.values()] == [
        ("Fig Sour", "drink"),
        ("Fig Cordial", "preparation"),
    ]
    assert sheets["Fig Sour"].aliases == ("fig sr",)


def test_versions_stand_side_by_side_and_what_changed_is_marked(sheets):
    table = sheets["Fig Sour"].versions
    assert table.versions == ("version 1", "version 2, in service")
    rows = {what: (cells, changed) for what, cells, changed in table.rows}
    assert rows["gin"] == (("50 ml", "40 ml"), True)
    assert rows["Fig Cordial"] == (("20 ml", "20 ml"), False)
    assert rows["price, EUR"] == (("9.00", "10.00"), True)


def test_a_change_of_version_and_price_is_dated_on_the_axis(sheets):
    assert [(mark.day, mark.text) for mark in sheets["Fig Sour"].course.marks] == [
        (date(2026, 3, 9), "version 2, EUR 10.00 for 9.00")
    ]


def test_a_preparations_batches_users_and_losses(sheets):
    """6 serves of 20 ml up to the day it was poured away: 650 - 120 = 530 ml lost, at 6.50 a making: 5.30."""
    sheet = sheets["Fig Cordial"]
    [batch] = sheet.batches
    assert (batch.used, batch.lost, batch.on_hand) == (120, 530, 0)
    assert batch.source.endswith("batch/batch.csv, row 2")
    assert [(user.name, user.takes, user.share) for user in sheet.users] == [("Fig Sour", "20 ml a serve", 1.0)]
    lost = sheet.notes[0]
    assert (lost.value, lost.unit, lost.is_loss) == ("5.30", "EUR", True)
    assert ("Allergens", True) in [(title, "sulphites" in text) for title, text in sheet.careful]
    assert "contains sulphites" in sheet.facts


def test_the_course_of_the_stock_by_hand(sheets):
    course = dict(sheets["Fig Cordial"].course.line)
    days = [MONDAY + timedelta(days=n) for n in range(6)]
    assert [course[day] for day in days] == [630, 610, 590, 570, 550, 0]


def test_what_a_serve_cost_is_dated(sheets):
    """50 ml of gin at 0.03 and 20 ml of cordial at 0.01 are 1.70, with 40 ml of gin 1.40 from 9 March."""
    assert sheets["Fig Sour"].course.costs == (
        (date(2026, 3, 2), pytest.approx(1.7)),
        (date(2026, 3, 9), pytest.approx(1.4)),
    )


def test_what_would_move_a_drink_by_hand(sheets):
    """14 serves at 9.00 net, which cost 1.55: with 1.8 or 0.2 % fewer serves for 1 % of price, the ends of what is
    assumed 8 times in 10, and no price change of the same build to narrow it."""
    price, cheaper, part, more = sheets["Fig Sour"].levers
    ends = [14 * (1.05**-e * (1.05 * 9 - 1.55) - (9 - 1.55)) for e in (1.8, 0.2)]
    assert (price.low, price.high) == (pytest.approx(ends[0]), pytest.approx(ends[1]))
    assert price.rests_on == "for 1 % of price, 0.2 to 1.8 % of serves the other way: assumed"
    assert cheaper.low < 0 < cheaper.high or cheaper.high < 0
    assert (part.what, part.low) == ("10 % off gin, in price or in the glass", pytest.approx(14 * 0.12))
    assert more.high == pytest.approx(1.4 * (9 - 1.55))


def test_the_only_drink_has_all_the_serves(sheets):
    place = sheets["Fig Sour"].place
    assert (place.own.share, place.own.contribution, place.others) == (1.0, pytest.approx(7.45), ())


def test_sizes_of_a_batch_come_from_the_prep_list(sheets):
    sizes = sheets["Fig Cordial"].sizes
    assert [one.advised for one in sizes].count(True) == 1
    assert [one.size for one in sizes if one.now] == [650]
    assert [one.chance_lost for one in sizes] == sorted(one.chance_lost for one in sizes)
