"""`stillroom match`: names that no drink explains go into the match file, each once, and count once decided."""

from __future__ import annotations

import csv

from house_builder import ask, command, good, make_house, put, take_in


def a_house(folder, **more):
    house = make_house(folder, **more)
    put(folder, "spec/spec.csv", [good("spec")])
    sales = [good("sale", till_item=name) for name in ("FIG SUOR", "fig suor", "OLIVES", "Fig Sour")]
    put(folder, "sale/sale.csv", sales)
    take_in(house)
    return house


def rows(path):
    with path.open(encoding="utf-8", newline="") as file:
        return [(row["till_item"], row["spec"]) for row in csv.DictReader(file)]


def test_each_name_is_written_once_with_a_suggestion_and_is_explained_when_it_is_taken_in(tmp_path):
    house = a_house(tmp_path)
    said = command("match", house=house)
    path = tmp_path / "till_match" / "till_match.csv"
    assert (said.code, said.err) == (0, "")
    assert rows(path) == [("FIG SUOR", "Fig Sour"), ("OLIVES", "?")]
    assert f"Wrote 2 names into {path}." in said.out
    assert "already" in command("match", house=house).out
    assert len(rows(path)) == 2
    path.write_text(path.read_text().replace("?", ""))
    assert command("intake", house=house).code == 0
    assert ask(house, "SELECT sum(serves) FROM daily_serves") == [(3.0,)]
    assert command("match", house=house).out == "Every till name has its match.\n"


def test_without_sales_there_is_nothing_to_match(tmp_path):
    house = make_house(tmp_path)
    put(tmp_path, "spec/spec.csv", [good("spec")])
    take_in(house)
    assert command("match", house=house).out == "There are no sales to match yet.\n"


def test_rows_that_are_there_stay_as_they_are(tmp_path):
    house = a_house(tmp_path)
    path = put(tmp_path, "till_match/till_match.csv", "till_item,venue,spec,serves,note\nOLIVES,,,,bar snacks\n")
    command("match", house=house)
    assert path.read_text().splitlines() == [
        "till_item,venue,spec,serves,note", "OLIVES,,,,bar snacks", "FIG SUOR,,Fig Sour,1,",
    ]  # fmt: skip


def test_as_json(tmp_path):
    found = command("match", "--json", house=a_house(tmp_path)).json
    assert [row["till_item"] for row in found["written"]] == ["FIG SUOR", "OLIVES"]


def test_a_match_file_that_cannot_be_added_to_is_left_alone(tmp_path):
    house = a_house(tmp_path)
    path = put(tmp_path, "till_match/till_match.csv", "Button,Drink\nOLIVES,\n")
    said = command("match", house=house)
    assert said.code == 2
    assert "needs the headings till_item and spec" in said.err
    assert path.read_text() == "Button,Drink\nOLIVES,\n"
