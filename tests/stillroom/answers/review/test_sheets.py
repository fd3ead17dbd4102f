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
