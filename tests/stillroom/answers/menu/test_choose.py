"""Choosing a menu from the drinks of a small house."""

import pytest

from house_builder import command
from stillroom.answers.menu.choose import Wish, choose_menu
from stillroom.answers.menu.request import read_change
from stillroom.errors import UsageError
from stillroom.objects import MenuChange


@pytest.fixture(scope="module")
def today(menu_house):
    return menu_house._today()[0]


def test_the_drinks_that_leave_most_are_chosen(today):
    found = choose_menu(today, Wish(drinks=2), MenuChange())
    # By hand, a day: half of the 6 guests of Plain Gin go to the others, which sell 6 at 7.50 and 3 at 7.30: 66.9 less
    # about 2 for the syrup. With half of Long Fig's 2 going on, 4.4 at 7.50 and 6.6 at 4.80: 64.7.
    assert found.names(found.choice.best.chosen) == ["Harbour Sour", "Long Fig"]
    assert found.choice.best.scored.contribution == pytest.approx(7 * 66.9, rel=0.1)
    assert [found.names(menu.chosen) for menu in found.choice.next_best] == [
        ["Harbour Sour", "Plain Gin"],
        ["Long Fig", "Plain Gin"],
    ]


def test_a_drink_that_must_be_on_is_on(today):
    found = choose_menu(today, Wish(drinks=1, must=("long fig",)), MenuChange())
    assert found.names(found.choice.best.chosen) == ["Long Fig"]
    prices = {price.limit: price.more for price in found.choice.prices}
    assert prices["Long Fig free to go"] > 0


@pytest.mark.parametrize(
    ("wish", "change", "said"),
    [
        (Wish(drinks=4), {}, "--choose must be 1 to 3"),
        (Wish(drinks=0), {}, "--choose must be 1 to 3"),
        (Wish(drinks=2, must=("Nowhere",)), {}, "--must 'Nowhere': there is no such drink"),
        (Wish(drinks=2, one_of=("Long Fig",)), {}, "name two drinks or more"),
        (Wish(drinks=1, must=("Long Fig", "Plain Gin")), {}, "--must names 2 drinks"),
        (Wish(drinks=2, preparations=0), {}, "--preparations must be 1 or more"),
        (Wish(drinks=2, work="soon"), {}, "write it like --work '9 hours'"),
        (Wish(drinks=2, work="9 hours"), {}, "minutes of work are not known of fig syrup"),
        (Wish(drinks=2, must=("Long Fig",)), {"drop": ["Long Fig"]}, "--must 'Long Fig': there is no such drink"),
        (Wish(drinks=3, one_of=("Long Fig, Plain Gin",)), {}, "No menu of 3 drinks keeps to all of these limits"),
    ],
)
def test_what_cannot_be_chosen_is_one_clear_line(today, wish, change, said):
    with pytest.raises(UsageError) as error:
        choose_menu(today, wish, read_change(**change))
    assert said in str(error.value)


def test_the_command_says_it_in_80_columns(menu_house):
    said = command("menu", "--choose", 2, "--preparations", 1, house=menu_house.settings)
    assert said.code == 0
    assert said.out.startswith("The best 2 of 3 drinks: EUR ")
    assert max(map(len, said.out.splitlines())) <= 80
    values = command("menu", "--choose", 2, "--json", house=menu_house.settings).json
    assert values["best"]["drinks"] == ["Harbour Sour", "Long Fig"]
    refused = command("menu", "--must", "Long Fig", house=menu_house.settings)
    assert (refused.code, refused.err.count("\n")) == (2, 1)
