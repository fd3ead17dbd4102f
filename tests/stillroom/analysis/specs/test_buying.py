"""What is bought for some makings, by hand."""

from datetime import date

import pytest

from spec_frames import Book
from stillroom.analysis.specs.book import SpecBook
from stillroom.analysis.specs.buying import to_buy

DAY = date(2026, 5, 1)


@pytest.fixture(scope="module")
def bought():
    """Two makings of a shrub and half a one of a cordial; the syrup in the shrub is made here."""
    book = Book()
    lines = ("1200 g pear", "30 cl cider vinegar", "200 ml plain syrup", "100 ml water", "3 each bay leaf")
    book.spec("shrub", "1000 ml", *lines)
    book.spec("cordial", "500 ml", "1 kg Pear", "200 ml soda water")
    book.spec("plain syrup", "1000 ml", "600 g sugar")
    for pack, cost, priced_on in (("5 kg", 15.0, (1, 1)), ("2 kg", 9.0, (4, 1)), ("1 kg", 1.0, (6, 1))):
        book.ingredient("pear", pack, cost, priced_on=date(2026, *priced_on), usable_pct=80.0)
    book.ingredient("cider vinegar", "600 ml")
    book.ingredient("bay leaf", "50 g", 2.0)
    book.ingredient("soda water", "1 l", 1.0)
    frames = book.frames
    found = SpecBook(frames, DAY)
    makings = [(found.in_service("shrub"), 2.0), (found.in_service("cordial"), 0.5)]
    return {one.item: one for one in to_buy(found, frames["current_ingredient"], makings, DAY)}


def test_amounts_of_all_makings_add_up_as_bought_in_the_packs_of_the_day(bought):
    """2 x 1200 g and half of 1 kg are 2900 g usable, of which a pear gives 80 %: 3625 g, two packs of 2 kg at 9.00."""
    pear = bought["pear"]
    assert (pear.amount, pear.unit) == (pytest.approx(3625), "g")
    assert (pear.pack, pear.packs, pear.cost) == ((2.0, "kg"), 2, pytest.approx(18.0))
    assert pear.wanted_for == ("shrub", "cordial")


def test_a_whole_pack_is_one_pack_and_without_its_price_no_cost_is_told(bought):
    """2 x 30 cl are the 600 ml of one bottle."""
    vinegar = bought["cider vinegar"]
    assert (vinegar.amount, vinegar.packs, vinegar.cost) == (pytest.approx(600), 1, None)


def test_what_no_pack_can_be_held_against_is_told_as_the_spec_has_it(bought):
    leaf = bought["bay leaf"]
    assert (leaf.amount, leaf.unit, leaf.pack, leaf.packs) == (6, "each", None, None)


def test_what_is_made_here_and_what_comes_from_the_tap_is_not_bought(bought):
    assert sorted(bought) == ["bay leaf", "cider vinegar", "pear", "soda water"]
