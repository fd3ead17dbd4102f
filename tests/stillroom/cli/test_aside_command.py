"""`stillroom aside`: every reason reads well in a terminal; nothing is left out where a program reads it."""

from __future__ import annotations

import json

import pytest

from house_builder import ask, command, good, make_house, put
from stillroom.house.house import House
from stillroom_schemas.units import KNOWN


@pytest.fixture
def house(tmp_path) -> House:
    return make_house(tmp_path / "house")


def test_a_long_list_of_words_is_shortened_and_lines_are_wrapped(house):
    put(house.folder, "spec/spec.csv", [good("spec", yield_unit="jug of the house", kind="food")])
    assert command("intake", house=house).code == 1
    said = command("aside", house=house).out
    assert max(map(len, said.splitlines())) <= 80
    assert all(line.startswith(("spec/spec.csv, row 2: ", "    ")) for line in said.splitlines())
    whole = " ".join(said.split())
    assert f"is not one of: ml, cl, dl, l, fl oz, us fl oz, imp fl oz, bar oz and {len(KNOWN) - 8} more" in whole
    assert "(found 'jug of the house')" in whole
    assert "kind is not one of: drink, preparation, garnish (found 'food')" in whole


def test_the_whole_list_is_in_the_json(house):
    put(house.folder, "spec/spec.csv", [good("spec", yield_unit="jug")])
    command("intake", house=house)
    [row] = json.loads(command("aside", "--json", house=house).out)
    assert row["problem"] == f"is not one of: {', '.join(KNOWN)}"


def test_nothing_in_a_cell_steers_the_terminal(house):
    put(house.folder, "spec/spec.csv", [good("spec", kind="\x1b[31mfood")])
    command("intake", house=house)
    assert "\x1b" not in command("aside", house=house).out


def test_units_as_bars_write_them_land(house):
    put(house.folder, "spec/spec.csv", [good("spec", yield_amount="2", yield_unit="US pint")])
    put(house.folder, "batch/batch.csv", [good("batch", made_amount="2", made_unit="imperial pints")])
    assert command("intake", house=house).code == 0
    assert ask(house, "SELECT made, unit FROM batch_made") == [(pytest.approx(2 * 568.26125), "ml")]


def test_the_word_that_was_perhaps_meant_is_said(tmp_path):
    house = make_house(tmp_path)
    put(tmp_path, "spec_line/spec_line.csv", [good("spec_line", unit="mil")])
    command("intake", house=house)
    assert "(found 'mil'; perhaps 'ml'?)" in " ".join(command("aside", house=house).out.split())
