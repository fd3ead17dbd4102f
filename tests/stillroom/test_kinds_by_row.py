"""Drinks and preparations in one sheet without a column that says which: told apart once that is confirmed."""

from __future__ import annotations

import pytest

from house_builder import HOUSE, current, make_house, plugins, put, take_in
from stillroom.house.settings import load_house
from stillroom.looking.look import look
from stillroom.looking.settling import write_settings

BOOK = """\
Name,Yield,Ingredient,Amount
Marsh Sour,,gin,45 ml
,,kelp tea,20 ml
Kelp Tea,1 l,kelp,20 g
Fen Fizz,,rum,50 ml
,,plum shrub,15 ml
Plum Shrub,,plums,500 g
"""


@pytest.mark.usefixtures("rows_alone")
def test_what_stands_in_others_or_yields_something_is_a_preparation_once_its_keeper_says_so(tmp_path):
    house = make_house(tmp_path, HOUSE)
    path = put(tmp_path, "book.csv", BOOK)
    seen = look(house, plugins(), path, table="spec")
    [kind] = [question for question in seen.questions if question.key == "kind"]
    assert kind.default == "(by row)"
    assert kind.guess == "told apart: Marsh Sour and Fen Fizz are drinks, Kelp Tea and Plum Shrub preparations"
    assert "kind" in seen.missing  # the guess counts for nothing
    seen = look(house, plugins(), path, table="spec", answers={"kind": "(by row)"})
    write_settings(house, plugins(), seen)
    house = load_house(tmp_path, plugins())
    [outcome] = take_in(house)
    assert current(house, "spec", "spec", "kind", "yield_amount", "yield_unit") == [
        ("Fen Fizz", "drink", 1.0, "serve"),
        ("Kelp Tea", "preparation", 1.0, "l"),
        ("Marsh Sour", "drink", 1.0, "serve"),
    ]
    assert outcome.rows_set_aside == 1  # what a making of plum shrub gives, nobody has said


@pytest.mark.usefixtures("rows_alone")
def test_where_all_rows_are_alike_nothing_is_told_apart(tmp_path):
    path = put(tmp_path, "book.csv", "Name,Ingredient,Amount\nMarsh Sour,gin,45 ml\nFen Fizz,rum,50 ml\n")
    seen = look(make_house(tmp_path, HOUSE), plugins(), path, table="spec")
    [kind] = [question for question in seen.questions if question.key == "kind"]
    assert kind.default == "drink"
    assert "(by row)" not in [option.value for option in kind.options]


def test_a_price_list_of_cases_is_no_grid_of_drinks(tmp_path):
    path = put(
        tmp_path, "list.csv", "Product,Case,Bottle size,Case price\nGin,6,700 ml,120.00\nTonic,24,200 ml,14.40\n"
    )
    seen = look(make_house(tmp_path, HOUSE), plugins(), path)
    assert seen.table == "ingredient"
    assert seen.missing == ("pack_amount",)


def test_which_of_two_prices_is_that_of_the_case_is_told_by_what_they_come_to(tmp_path):
    text = "Product,Pack,Price (case),Price (bottle)\nGin,6 x 0.7 l,119.40,19.90\nTonic,24 x 200 ml,14.40,0.60\n"
    house = make_house(tmp_path, HOUSE)
    seen = look(house, plugins(), put(tmp_path, "list.csv", text))
    assert (seen.table, seen.columns["pack_cost"], seen.missing) == ("ingredient", ("Price (case)",), ())
    other = text.replace("119.40", "99.40")
    seen = look(house, plugins(), put(tmp_path, "other.csv", other), table="ingredient")
    assert seen.missing == ("pack_cost",)
