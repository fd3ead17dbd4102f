"""stillroom show: the sheet of a thing."""

import pytest

from house_builder import command, good, make_house, put, take_in


@pytest.fixture(scope="module")
def house(tmp_path_factory):
    folder = tmp_path_factory.mktemp("house")
    made = make_house(folder)
    put(folder, "spec/spec.csv", [good("spec", price=9)])
    put(folder, "spec_line/spec_line.csv", [good("spec_line")])
    put(folder, "ingredient/ingredient.csv", [good("ingredient")])
    put(folder, "sale/sale.csv", [good("sale")])
    take_in(made)
    return made


def test_a_sheet_by_its_name_in_any_case(house):
    said = command("show", "fig sour", house=house)
    assert said.code == 0
    assert said.out.startswith("Fig Sour")
    assert "Costs a serve" in said.out
    assert "\x1b" not in said.out


def test_as_json(house):
    values = command("show", "Fig Sour", "--json", house=house).json
    assert (values["name"], values["kind"]) == ("Fig Sour", "drink")
    assert values["notes"][0]["value"] == "1"


def test_a_name_that_there_is_not(house):
    said = command("show", "fig", house=house)
    assert said.code == 2
    assert "There is no spec 'fig'. Did you mean 'Fig Sour'?" in said.err
