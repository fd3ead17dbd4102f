"""`stillroom match` asks about names that no drink explains; a guess counts for nothing until somebody says it."""

from __future__ import annotations

import csv

import pytest
from benchmarks.matching import simulated

from house_builder import HOUSE, SOURCES, ask, command, good, make_house, put, take_in
from terminal import Terminal

SERVES = "SELECT spec, sum(serves) FROM daily_serves GROUP BY spec ORDER BY spec"


def a_house(folder, *names, **more):
    house = make_house(folder, **more)
    put(folder, "spec/spec.csv", [good("spec", price=9), good("spec", spec="Marsh Fizz", price=13.5)])
    sales = [good("sale", till_item=name) for name in ("FIG SUOR", "fig suor", "OLIVES", "Fig Sour")]
    more = [good("sale", till_item=name, net_amount=net, line_id=n) for n, (name, net) in enumerate(names)]
    put(folder, "sale/sale.csv", [*sales, *more])
    take_in(house)
    return house


def rows(path):
    with path.open(encoding="utf-8", newline="") as file:
        return [(row["till_item"], row["spec"], row["serves"]) for row in csv.DictReader(file)]


def test_a_guess_counts_for_nothing_until_somebody_says_it(tmp_path):
    house = a_house(tmp_path)
    before = ask(house, SERVES)
    said = command("match", house=house)
    path = tmp_path / "till_match" / "till_match.csv"
    assert (said.code, said.err) == (0, "")
    assert rows(path) == [("FIG SUOR", "?", "1"), ("OLIVES", "?", "1")]
    assert "FIG SUOR (2 lines): perhaps Fig Sour, a serve at 9.00 (88 %)" in said.out
    assert f"Wrote 2 names into {path}." in said.out
    assert len(command("match", house=house).out) > 0
    assert len(rows(path)) == 2
    command("intake", house=house)
    assert ask(house, SERVES) == before == [("Fig Sour", 1.0)]
    assert ask(house, "SELECT sum(lines) FROM unmatched_sales") == [(3,)]
    path.write_text(path.read_text().replace("SUOR,,?", "SUOR,,Fig Sour").replace("?", ""))
    assert command("intake", house=house).code == 0
    assert ask(house, SERVES) == [("Fig Sour", 3.0)]
    assert command("match", house=house).out == "Every till name has its match.\n"


def test_asked_on_a_terminal_one_by_one(tmp_path):
    house = a_house(
        tmp_path,
        ("Jug Marsh Fizz", 48), ("Marsh-Fizz.", 13.5), ("fig sour!", 9), ("Fig Sour + egg", 10),
        ("Fig Sour + no ice", 9), ("GLASS THING", 5), ("Of the evening", 11), ("M FIZ", 13.5),
    )  # fmt: skip
    terminal = Terminal("match", house=tmp_path)
    first = terminal.asks()
    assert "10 till names that no drink explains: 11 lines, 146.00 EUR." in first
    assert "2 names begin as another does and go on behind ' +': 'Fig Sour + egg'" in first
    assert "Accept all 2, each above 95 %?" in terminal.says("y")
    assert ask(house, SERVES) == [("Fig Sour", 3.0)]
    assert 'names_end_at = [" +"]' in (tmp_path / "stillroom.toml").read_text()
    seen = terminal.says("y")
    assert "1 of 6   FIG SUOR   (2 lines, 18.00 EUR, 9.00 each)" in seen
    assert "Perhaps Fig Sour, a serve at 9.00 (88 %)?" in seen
    seen = terminal.says("")
    assert "2 of 6" in seen
    answers = {"GLASS THING": "Marsh Sizz", "Jug": "", "M FIZ": "a", "OLIVES": "n", "Of the evening": "l"}
    for _ in range(5):
        name = next(one for one in answers if f"   {one}" in seen)
        said = answers.pop(name)
        if name == "Jug":
            assert "48.00 each" in seen
            assert "Perhaps Marsh Fizz, a serve at 13.50 (95 %): 4 serves?" in seen
        if name == "GLASS THING":
            assert "there is no drink 'Marsh Sizz'; did you mean 'Marsh Fizz'?" in terminal.says(said)
            said = "Marsh Fizz x 0.5"
        if said == "a":
            assert "1  Marsh Fizz, a serve at 13.50" in terminal.says("a")
            said = "1"
        if answers:
            seen = terminal.says(said)
        else:
            code, seen = terminal.ends(said)
    assert code == 0
    assert "7 names written into" in seen
    assert "1 name left for later." in seen
    assert ask(house, SERVES) == [("Fig Sour", 6.0), ("Marsh Fizz", 6.5)]
    assert ask(house, "SELECT till_item FROM unmatched_sales") == [("Of the evening",)]


def test_what_was_said_stays_said_when_input_ends(tmp_path):
    house = a_house(tmp_path)
    terminal = Terminal("match", house=tmp_path)
    terminal.asks()
    terminal.says("y")
    terminal.child.sendeof()
    assert "1 name written into" in terminal.ends()[1]
    assert ask(house, SERVES) == [("Fig Sour", 3.0)]


def test_answers_without_a_terminal(tmp_path):
    house = a_house(tmp_path, ("Jug Marsh Fizz", 48), ("MARSH  FIZZ!", 13.5))
    path = put(tmp_path, "said.toml", '"fig suor" = "yes"\nOLIVES = "not ours"\n"Old name" = "Fig Sour"\n')
    said = command("match", "--answers", path, "--answer", "Jug Marsh Fizz=4 Marsh Fizz", "--accept", 95, house=house)
    assert said.code == 0
    assert said.err == "No open till name: Old name.\n"
    assert "Jug Marsh Fizz is Marsh Fizz, 4 serves" in said.out
    assert ask(house, SERVES) == [("Fig Sour", 3.0), ("Marsh Fizz", 5.0)]
    assert command("match", house=house).out == "Every till name has its match.\n"


def test_what_was_left_for_later_is_not_accepted_however_it_was_spelt(tmp_path):
    house = a_house(tmp_path, ("Marsh Fizz!", 13.5))
    said = command("match", "--answer", "Mársh  Fizz!=later", "--accept", 95, house=house)
    assert "Marsh Fizz! (1 line): perhaps Marsh Fizz" in said.out
    assert ask(house, SERVES) == [("Fig Sour", 1.0)]


@pytest.mark.parametrize(
    ("answer", "words"),
    [
        ("OLIVES=yes", "nothing is likely enough for 'yes'; name the drink."),
        ("OLIVES=Fig Suor", "there is no drink 'Fig Suor'; did you mean 'Fig Sour'?"),
        ("Jug of Figs=Fig Sour", "write 'Fig Sour x 4' or 'Fig Sour x 1'."),
        ("OLIVES=0 Fig Sour", "0 serves cannot be; write a number above 0."),
    ],
)
def test_answers_that_are_none(tmp_path, answer, words):
    house = a_house(tmp_path, ("Jug of Figs", 36))
    said = command("match", "--answer", answer, house=house)
    assert said.code == 2
    assert words in said.err
    assert ask(house, SERVES) == [("Fig Sour", 1.0)]


def test_what_was_said_teaches(tmp_path):
    house = a_house(tmp_path, ("HSE SPECIAL 9", 9))
    command("match", "--answer", "HSE SPECIAL 9=Fig Sour", "--answer", "OLIVES=not ours", house=house)
    put(
        tmp_path,
        "sale/b.csv",
        [good("sale", till_item=name, line_id="b" + name) for name in ("HSE SPECIAL 10", "OLIVE")],
    )
    take_in(house)
    found = {one["till_item"]: one["guesses"][0] for one in command("match", "--json", house=house).json["open"]}
    assert (found["HSE SPECIAL 10"]["spec"], found["HSE SPECIAL 10"]["like"]) == ("Fig Sour", "HSE SPECIAL 9")
    assert (found["OLIVE"]["spec"], found["OLIVE"]["like"]) == (None, "OLIVES")


def test_what_is_said_of_one_name_teaches_the_next_at_once(tmp_path):
    house = a_house(tmp_path, ("HSE SPECIAL 9", 9), ("HSE SPECIAL 10", 9))
    terminal = Terminal("match", house=tmp_path)
    terminal.asks()
    seen = terminal.says("")
    assert "HSE SPECIAL 10" in seen
    assert "Perhaps" not in seen
    assert "Perhaps Fig Sour, a serve at 9.00 (89 % like 'HSE SPECIAL 10')?" in terminal.says("Fig Sour")
    terminal.says("")
    terminal.ends("n")
    assert ask(house, SERVES) == [("Fig Sour", 5.0)]


def test_a_mark_before_a_jug_is_no_mark_of_modifiers(tmp_path):
    a_house(tmp_path, ("Fig Sour (jug)", 36), ("Fig Sour (egg)", 9), ("Fig Sour (ice)", 9))
    terminal = Terminal("match", house=tmp_path)
    assert "go on behind" not in terminal.asks()
    terminal.child.sendeof()
    terminal.ends()


def test_without_sales_there_is_nothing_to_match(tmp_path):
    house = make_house(tmp_path)
    put(tmp_path, "spec/spec.csv", [good("spec")])
    take_in(house)
    assert command("match", house=house).out == "There are no sales to match yet.\n"


def test_rows_that_are_there_stay_as_they_are(tmp_path):
    house = a_house(tmp_path)
    text = "till_item,venue,spec,serves,note\nOLIVES,,,,bar snacks\n"
    path = put(tmp_path, "till_match/till_match.csv", text)
    command("match", house=house)
    assert path.read_text() == text + "FIG SUOR,,?,1,\n"
    command("match", "--answer", "FIG SUOR=Fig Sour", house=house)
    assert path.read_text() == text + "FIG SUOR,,Fig Sour,1,\n"


def test_as_json(tmp_path):
    found = command("match", "--json", house=a_house(tmp_path)).json
    assert found["written"] == ["FIG SUOR", "OLIVES"]
    assert [(one["till_item"], one["suggestion"]) for one in found["open"]] == [
        ("FIG SUOR", "Fig Sour"),
        ("OLIVES", None),
    ]


def test_a_match_file_that_cannot_be_added_to_is_left_alone(tmp_path):
    house = a_house(tmp_path)
    path = put(tmp_path, "till_match/till_match.csv", "Button,Drink\nOLIVES,\n")
    said = command("match", house=house)
    assert said.code == 2
    assert "needs the headings till_item and spec" in said.err
    assert path.read_text() == "Button,Drink\nOLIVES,\n"


OWN = """
[[source]]
name = "buttons"
plugin = "till-match"
files = ["{file}"]
[source.columns]
till_item = "Button"
spec = "Drink"
"""


def with_own(folder, file, content):
    """A house whose template is blank, and which keeps its matches in a file of its own."""
    put(folder, "till_match/till_match.csv", "till_item,venue,spec,serves\n")
    path = put(folder, file, content)
    house = a_house(folder, ("Jug Marsh Fizz", 48), settings=HOUSE + SOURCES + OWN.format(file=file))
    return house, path


def test_what_is_said_goes_into_the_file_that_the_house_keeps_as_it_is_written_there(tmp_path):
    text = 'Knöpfe;;\r\nButton;Drink;Wer\r\nMARSH FZ;Marsh Fizz;"Ada; B"\r\n'.encode()
    house, path = with_own(tmp_path, "buttons.csv", text)
    said = command("match", "--answer", "FIG SUOR=Fig Sour", "--answer", "OLIVES=not ours", house=house)
    assert (said.code, said.err) == (0, "")
    assert path.read_bytes() == text + b"FIG SUOR;Fig Sour;\r\nOLIVES;;\r\n"
    assert f"Written into {path}, and taken in." in said.out
    assert f"or write them into {path}, as it is kept" in said.out  # the jug
    assert (tmp_path / "till_match" / "till_match.csv").read_text() == "till_item,venue,spec,serves\n"
    assert ask(house, SERVES) == [("Fig Sour", 3.0)]
    assert ask(house, "SELECT DISTINCT till_item FROM unmatched_sales") == [("Jug Marsh Fizz",)]


def test_what_that_file_has_no_column_for_goes_into_the_other_and_is_not_lost(tmp_path):
    text = "Button,Drink\nMARSH FZ,Marsh Fizz\nM FZ,Marsh Fizz\n"
    house, path = with_own(tmp_path, "buttons.csv", text)
    said = command("match", "--answer", "Jug Marsh Fizz=4 Marsh Fizz", house=house)
    other = tmp_path / "till_match" / "till_match.csv"
    assert f"Written into {other}, and taken in." in said.out
    assert rows(other) == [("Jug Marsh Fizz", "Marsh Fizz", "4")]
    assert path.read_text() == text
    assert ("Marsh Fizz", 4.0) in ask(house, SERVES)


def test_none_is_taken_unseen_that_may_be_another_drink():
    """A small version of the simulation in docs/simulations.md."""
    found = simulated(5)
    assert sum(count["taken"] for count in found.values()) > 200
    assert sum(count["taken and wrong"] for count in found.values()) == 0
    assert found["capitals and marks"]["taken"] == found["capitals and marks"]["names"]


def test_a_jug_is_held_against_what_serves_bring_in_and_not_against_a_price_with_tax(tmp_path):
    house = make_house(tmp_path)
    put(tmp_path, "spec/spec.csv", [good("spec", price=12), good("spec", spec="Marsh Fizz", price=13.5)])
    put(
        tmp_path,
        "sale/sale.csv",
        [good("sale", net_amount=10), good("sale", till_item="Jug Marsh Fizz", net_amount=40)],
    )
    take_in(house)
    (name,) = command("match", "--json", house=house).json["open"]
    assert name["guesses"][0]["serves"] == 4  # 40 / (13.5 * 10 / 12) = 3.6; of the price with tax it were 3
