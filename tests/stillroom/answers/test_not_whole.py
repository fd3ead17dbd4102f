"""A row of the spec book that was set aside is named wherever the spec's figures are shown: they look whole without."""

from __future__ import annotations

from house_builder import HOUSE, SOURCES, command, good, make_house, put, take_in

ODD_HEADINGS = SOURCES.replace(
    'table = "spec_line"\n', 'table = "spec_line"\ncolumns = { spec = "Drink", item = "What", unit = "In" }\n'
)


def a_house(folder, *lines, settings=HOUSE + SOURCES):
    house = make_house(folder, settings)
    syrup = good("spec", spec="Fig Syrup", kind="preparation", yield_amount="500", yield_unit="ml")
    put(folder, "spec/spec.csv", [good("spec", in_service_from="2026-03-01"), syrup])
    put(folder, "ingredient/ingredient.csv", [good("ingredient"), good("ingredient", item="fig")])
    put(folder, "sale/sale.csv", [good("sale")])
    put(folder, "spec_line/spec_line.csv", lines)
    take_in(house)
    return house


def careful(house, spec):
    said = command("spec", spec, house=house)
    return " ".join(said.out.partition("To make")[0].split())


def line(number, item, unit="ml", **more):
    return good("spec_line", line=str(number), item=item, unit=unit, **more)


def test_a_line_set_aside_is_named_on_the_card_of_its_spec(tmp_path):
    house = a_house(tmp_path, line(1, "gin"), line(2, "sherry", "mil"))
    said = careful(house, "fig sour")
    assert "! Set aside: A line of Fig Sour, version 1, is set aside" in said
    assert "spec_line/spec_line.csv, row 3: unit is not one of" in said
    assert "(found 'mil'; perhaps 'ml'?)" in said


def test_a_line_of_a_preparation_is_named_on_the_drinks_that_take_it(tmp_path):
    fig = line(1, "fig", spec="Fig Syrup")
    house = a_house(tmp_path, line(1, "Fig Syrup"), fig, line(2, "nut", "mil", spec="fig  syrup"))
    assert "A line of fig syrup, version 1, is set aside" in careful(house, "fig sour")
    assert "Set aside" in careful(house, "fig syrup")


def test_a_preparation_is_not_blamed_for_the_line_of_a_drink_that_takes_it(tmp_path):
    house = a_house(tmp_path, line(1, "gin"), line(2, "Fig Syrup", "mil"), line(1, "fig", spec="Fig Syrup"))
    assert "Set aside" not in careful(house, "fig syrup")


def test_headings_of_the_file_s_own_are_understood(tmp_path):
    rows = [
        {"Drink": "Fig Sour", "version": "1", "line": "1", "What": "gin", "amount": "50", "In": "ml"},
        {"Drink": "Fig Sour", "version": "1", "line": "2", "What": "sherry", "amount": "5", "In": "mil"},
    ]
    house = a_house(tmp_path, *rows, settings=HOUSE + ODD_HEADINGS)
    assert "A line of Fig Sour, version 1, is set aside" in careful(house, "fig sour")


def test_a_line_of_another_version_is_not_this_one_s(tmp_path):
    house = a_house(tmp_path, line(1, "gin"), line(1, "sherry", "mil", version="2"))
    assert "Set aside" not in careful(house, "fig sour")


def test_nothing_is_said_once_the_line_is_corrected(tmp_path):
    house = a_house(tmp_path, line(1, "gin"), line(2, "sherry", "mil"))
    put(tmp_path, "spec_line/spec_line.csv", [line(1, "gin"), line(2, "sherry")])
    take_in(house)
    assert "Set aside" not in careful(house, "fig sour")


def test_the_page_puts_it_among_what_is_worth_acting_on(tmp_path):
    house = a_house(tmp_path, line(1, "gin"), line(2, "sherry", "mil"))
    said = " ".join(command("report", house=house).out.split())
    assert "Cost, strength and allergens may be wrong. [spec_line/spec_line.csv, row 3]" in said


def test_a_version_set_aside_is_named_on_the_card_and_does_not_make_the_others_figures_wrong(tmp_path):
    house = a_house(tmp_path, line(1, "gin"))
    put(tmp_path, "spec/more.csv", [good("spec", version="2", yield_amount="none")])
    take_in(house)
    assert "! Version set aside: The row of Fig Sour, version 2, is set aside" in careful(house, "fig sour")
    assert "lines of the spec book are set aside" not in " ".join(command("report", house=house).out.split())
