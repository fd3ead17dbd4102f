"""One file that fills two tables: both are read, in one transaction."""

from __future__ import annotations

from datetime import date

from house_builder import HOUSE, books, command, current, make_house, put, reasons, take_in

SPECS = """
[[source]]
name = "lines"
plugin = "spec-book"
table = "spec_line"
files = ["book/*.csv"]
fill_down = ["spec"]
columns = { spec = "Drink", item = "Ingredient", amount = "Amount" }
[[source]]
name = "specs"
plugin = "spec-book"
table = "spec"
files = ["book/*.csv"]
once = true
only_with = ["spec"]
columns = { spec = "Drink", yield_amount = "Makes", kind = "Kind" }
"""
BATCHES = """
[[source]]
name = "made"
plugin = "batch-book"
table = "batch"
files = ["made.csv"]
columns = { preparation = "Prep", made_on = "Day", made_amount = "Made" }
fill_down = ["made_on", "preparation"]
[[source]]
name = "went"
plugin = "batch-book"
table = "batch_event"
files = ["made.csv"]
columns = { batch = ["Prep", "Day"], event = "End", happened_on = "End", amount = "End" }
only_with = ["event"]
fill_down = ["batch"]
"""
BOOK = """\
Drink,Kind,Makes,Ingredient,Amount
Fig Sour,drink,1 serve,gin,45 ml
,,,lemon,20 ml
Fen Fizz,drink,1 serve,rum,50 ml
"""
MADE = """\
Day,Prep,Made,End
2026-03-13,Kelp Tea,1 l,
,,1 l,used up 2026-03-15
,Plum Shrub,700 ml,300 ml poured 2026-03-20
"""


def test_specs_and_lines_of_one_sheet_land_together(tmp_path):
    house = make_house(tmp_path, HOUSE + SPECS)
    put(tmp_path, "book/specs.csv", BOOK)
    done = take_in(house)
    assert [(one.table, one.rows_landed) for one in done] == [("spec", 2), ("spec_line", 3)]
    assert current(house, "spec_line", "spec", "item") == [
        ("Fen Fizz", "rum"),
        ("Fig Sour", "gin"),
        ("Fig Sour", "lemon"),
    ]
    assert [one.status for one in take_in(house)] == ["unchanged", "unchanged"]
    assert command("verify", house=house).code == 0


def test_a_label_made_for_a_batch_is_the_one_its_event_is_given(tmp_path):
    house = make_house(tmp_path, HOUSE + BATCHES)
    put(tmp_path, "made.csv", MADE)
    take_in(house)
    assert not reasons(house)
    assert current(house, "batch", "batch") == [
        ("Kelp Tea 2026-03-13",),
        ("Kelp Tea 2026-03-13 #2",),
        ("Plum Shrub 2026-03-13",),
    ]
    assert current(house, "batch_event", "batch", "happened_on", "event", "amount") == [
        ("Kelp Tea 2026-03-13 #2", date(2026, 3, 15), "used up", None),
        ("Plum Shrub 2026-03-13", date(2026, 3, 20), "poured away", 300.0),
    ]


def test_what_refuses_one_table_refuses_both(tmp_path):
    house = make_house(tmp_path, HOUSE + SPECS)
    put(tmp_path, "book/specs.csv", BOOK.replace("lemon,20 ml", "Fig Sour,20 ml"))
    [done] = take_in(house)
    assert (done.status, "circle" in done.problem) == ("refused", True)
    assert books(house) == []


def test_a_file_of_one_of_the_tables_alone_is_read_by_that_source(tmp_path):
    house = make_house(tmp_path, HOUSE + SPECS)
    put(tmp_path, "book/specs.csv", "Drink,Kind,Makes\nFig Sour,drink,1 serve\n")
    put(tmp_path, "book/lines.csv", "Drink,Ingredient,Amount\nFig Sour,gin,45 ml\n")
    assert [(one.file, one.table, one.status) for one in take_in(house)] == [
        ("book/specs.csv", "spec", "landed"),
        ("book/lines.csv", "spec_line", "landed"),
    ]


def test_a_file_that_lost_the_headings_of_one_of_its_tables_is_refused_whole(tmp_path):
    house = make_house(tmp_path, HOUSE + SPECS)
    put(tmp_path, "book/specs.csv", BOOK)
    take_in(house)
    put(tmp_path, "book/specs.csv", BOOK.replace("Kind,", "Sort,").replace("45 ml", "50 ml"))
    [done] = take_in(house)
    assert (done.status, "kind" in done.problem) == ("refused", True)
    assert ("gin", 45.0) in current(house, "spec_line", "item", "amount")


def test_a_row_that_waits_is_corrected_for_both_tables(tmp_path):
    house = make_house(tmp_path, HOUSE + BATCHES)
    put(tmp_path, "made.csv", MADE.replace("2026-03-13,Kelp", "13th of March,Kelp"))
    take_in(house)
    command("aside", "--out", tmp_path / "out", house=house)
    [path, *_] = sorted((tmp_path / "out").glob("*.csv"))
    path.write_text(path.read_text().replace("13th of March", "2026-03-13"))
    assert [one.rows_corrected for one in take_in(house, path)] == [3, 3]  # names and days are given once
    assert not reasons(house)
    assert current(house, "batch_event", "batch")[0] == ("Kelp Tea 2026-03-13 #2",)


def test_an_event_without_a_label_goes_to_the_only_batch_that_it_fits(tmp_path):
    """And waits where several may be meant; what it was given is looked up anew when the batches change."""
    house = make_house(tmp_path)
    batch = "batch,preparation,made_on,made_amount,made_unit,use_by\n"
    first = (
        "K1,Kelp Tea,2026-03-10,1,l,2026-03-14\nK2,Kelp Tea,2026-03-15,1,l,2026-03-19\nP1,Plum Shrub,2026-03-15,1,l,\n"
    )
    put(tmp_path, "batch/b.csv", batch + first)
    events = "happened_on,preparation,event,amount\n2026-03-16,kelp tea,used up,\n2026-03-18,Kelp Tea,spoiled,\n"
    put(tmp_path, "batch_event/e.csv", events + "2026-03-20,Plum Shrub,poured away,200 ml\n2026-03-21,Fig,spoiled,\n")
    take_in(house)
    # Used up after its use-by it cannot have been: K2 it was; and then K1 alone was left to go off.
    assert current(house, "batch_event", "batch", "event") == [
        ("K1", "spoiled"),
        ("K2", "used up"),
        ("P1", "poured away"),
    ]
    assert [(row, problem.partition(":")[0]) for row, _, problem, _ in reasons(house)] == [
        (5, "there is no batch of Fig that was there on 2026-03-21")
    ]
    put(tmp_path, "batch/c.csv", batch + "P2,Plum Shrub,2026-03-16,1,l,\n")
    take_in(house)
    assert ("P1", "poured away") not in current(house, "batch_event", "batch", "event")
    assert (4, "may be about any of the batches P1, P2: write the label in the place of the preparation") in [
        (row, problem) for row, _, problem, _ in reasons(house)
    ]
    put(tmp_path, "batch_event/e.csv", events + "2026-03-20,P2,poured away,200 ml\n")
    take_in(house)
    assert ("P2", "poured away") in current(house, "batch_event", "batch", "event")
    assert command("verify", house=house).code == 0


def test_look_proposes_a_source_for_each_table_that_the_rows_fill(tmp_path):
    house = make_house(tmp_path, HOUSE)
    put(tmp_path, "made.csv", MADE.replace("End", "Event"))
    said = command("look", tmp_path / "made.csv", "--write", house=house)
    assert "made.csv, for another table, too" in said.out
    done = command("intake", "--json", house=house).json["files"]
    assert [(one["table"], one["rows_landed"]) for one in done] == [("batch", 3), ("batch_event", 2)]
