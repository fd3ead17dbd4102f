"""Which files are taken in, in which order, by which source, into which table, under which headings."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from house_builder import GOOD, HOUSE, PLUGINS, command, csv_text, good, make_house, plugins, put
from stillroom.errors import FileRefused, SettingsError
from stillroom.house.house import House
from stillroom.house.settings import load_house
from stillroom.intake.planning import Plan, named_by_settings, named_by_user, plan

TILL = '[[source]]\nname = "till"\nplugin = "till-export"\nfiles = ["till/*.csv"]\n'
OWN_HEADINGS = "Closed,Article,Count,Net,Waiter\n2026-05-01 20:00,Fig Sour,1,9,Ann\n"
MAPPED = '[source.columns]\nsold_at = "closed"\ntill_item = "Article"\nquantity = "Count"\nnet_amount = "Net"\n'


def planned(house: House, path: Path, source: str | None = None) -> Plan:
    [candidate] = named_by_user(house, [path], source)
    return plan(candidate, plugins())


def refusal(house: House, path: Path, source: str | None = None) -> str:
    with pytest.raises((FileRefused, SettingsError)) as refused:
        planned(house, path, source)
    said = str(refused.value)
    assert "\n" not in said
    return said


def test_older_files_go_first_and_of_the_same_age_by_name(tmp_path):
    house = make_house(tmp_path, HOUSE + TILL)
    for name, age in (("a.csv", 1), ("c.csv", 5), ("b.csv", 5)):
        path = put(tmp_path, f"till/{name}", [good("sale")])
        os.utime(path, (2_000_000_000 - age, 2_000_000_000 - age))
    put(tmp_path, "till/notes.txt", "not asked for")
    assert [candidate.name for candidate in named_by_settings(house)] == ["till/b.csv", "till/c.csv", "till/a.csv"]


def test_of_several_sources_that_name_a_file_the_first_reads_it(tmp_path):
    house = make_house(tmp_path, HOUSE + TILL + TILL.replace('"till"', '"again"').replace("till/", "**/"))
    put(tmp_path, "till/a.csv", [good("sale")])
    put(tmp_path, "other/b.csv", [good("sale")])
    by = {candidate.name: candidate.settings.name for candidate in named_by_settings(house)}
    assert by == {"till/a.csv": "till", "other/b.csv": "again"}


def test_a_query_comes_after_the_files(tmp_path):
    query = '[[source]]\nname = "db"\nplugin = "till-export"\ndatabase = "TILL_DB"\nquery = "SELECT 1"\n'
    house = make_house(tmp_path, HOUSE + query + TILL)
    put(tmp_path, "till/a.csv", [good("sale")])
    assert [candidate.name for candidate in named_by_settings(house)] == ["till/a.csv", "db (query)"]


def test_a_file_that_a_user_names_keeps_the_settings_for_it(tmp_path, monkeypatch):
    house = make_house(tmp_path, HOUSE + TILL)
    put(tmp_path, "till/a.csv", [good("sale")])
    outside = put(tmp_path.parent, "b.csv", [good("sale")])
    monkeypatch.chdir(tmp_path)
    inside, twice, other = named_by_user(house, [Path("till/a.csv"), tmp_path / "till" / "a.csv", outside], None)
    assert (inside.name, inside.settings) == (twice.name, twice.settings) == ("till/a.csv", house.sources[0])
    assert (other.name, other.settings) == (str(outside), None)


def test_a_source_that_a_user_names_goes_before_the_settings(tmp_path):
    house = make_house(tmp_path, HOUSE + TILL)
    path = put(tmp_path, "till/a.csv", [good("batch")])
    assert planned(house, path, "batch-book").table.name == "batch"
    assert planned(house, put(tmp_path, "b.csv", [good("sale")]), "till").settings == house.sources[0]


@pytest.mark.parametrize("table", GOOD)
def test_the_headings_alone_tell_the_table(tmp_path, table):
    found = planned(make_house(tmp_path), put(tmp_path, "some.csv", [good(table)]))
    assert (found.table.name, found.source.name) == (table, PLUGINS[table])


def test_a_spec_line_with_all_headings_of_a_spec_is_a_spec_line(tmp_path):
    row = {**good("spec"), **good("spec_line")}
    path = put(tmp_path, "some.csv", [{heading: row[heading] for heading in [*GOOD["spec_line"], "yield_unit"]}])
    assert planned(make_house(tmp_path), path).table.name == "spec_line"


def test_a_till_export_that_lacks_a_heading_is_no_match_file(tmp_path):
    """Though a match file needs no more than till_item: it would say of every drink that it is not one of ours."""
    path = put(tmp_path, "some.csv", "sold_at,till_item,quantity,amount\n")
    assert refusal(make_house(tmp_path), path) == (
        "some.csv: not a file of table 'sale': headings missing: net_amount; found: sold_at, till_item, quantity, "
        "amount. If the file has headings of its own, name them under its [[source]] in stillroom.toml."
    )


def test_a_file_with_no_heading_that_we_know_is_refused(tmp_path):
    said = refusal(make_house(tmp_path), put(tmp_path, "some.csv", "colour,shape\nred,round\n"))
    assert said.startswith("some.csv: ")


def test_mapped_headings_are_found_in_any_case_and_the_rest_is_unused(tmp_path):
    house = make_house(tmp_path, HOUSE + TILL + MAPPED)
    layout = planned(house, put(tmp_path, "till/a.csv", OWN_HEADINGS)).layout
    assert layout.headings == {
        "sold_at": ("Closed",), "till_item": ("Article",), "quantity": ("Count",), "net_amount": ("Net",),
    }  # fmt: skip
    assert layout.unused == ("Waiter",)


def test_a_mapped_heading_that_is_not_there_is_named(tmp_path):
    house = make_house(tmp_path, HOUSE + TILL + MAPPED + 'check_id = ["Till", "Check"]\n')
    said = refusal(house, put(tmp_path, "till/a.csv", OWN_HEADINGS.replace("Net", "Till")))
    assert "headings missing: net_amount (looked for 'Net'), check_id (looked for 'Check'); found: Closed," in said


def test_a_constant_stands_in_for_a_heading(tmp_path):
    house = make_house(tmp_path, HOUSE + TILL + '[source.constants]\nquantity = 1\nvenue = "Terrace"\n')
    found = planned(house, put(tmp_path, "till/a.csv", "sold_at,till_item,net_amount\n2026-05-01 20:00,Fig Sour,9\n"))
    assert found.layout.constants == {"quantity": "1", "venue": "Terrace"}
    assert "quantity" not in found.layout.headings


def test_the_columns_of_a_wide_file_need_no_heading(tmp_path):
    wide = 'table = "tasting"\nwide = { headings_are = "panelist", cells_are = "score" }\n'
    source = TILL.replace("till-export", "tasting-sheet") + wide
    house = make_house(tmp_path, HOUSE + source)
    text = "session,tasted_on,spec,version,attribute,P1,P2\ns1,2026-05-01,Fig Sour,1,liking,7,6\n"
    layout = planned(house, put(tmp_path, "till/a.csv", text)).layout
    assert (layout.headings["panelist"], layout.headings["score"]) == (("panelist",), ("score",))
    assert layout.unused == ("P1", "P2")


@pytest.mark.parametrize(
    ("source", "said"),
    [
        (TILL.replace("till-export", "tills"), "Source 'till' wants a plugin 'tills'; there are: batch-book, "),
        (TILL + 'table = "spec"\n', "plugin 'till-export' does not fill a table 'spec'; it fills: sale."),
        (TILL + 'table = "sale"\n[source.columns]\nwaiter = "W"\n', "table 'sale' has no column 'waiter'; there are: "),
        (TILL + 'query = "SELECT 1"\n', "Source 'till': database and query need each other."),
        (TILL + 'database = "NOT_SET"\nquery = "SELECT 1"\n', "the environment variable NOT_SET is not set"),
    ],
)
def test_settings_that_cannot_be_followed_are_named(tmp_path, source, said):
    house = make_house(tmp_path, HOUSE + source)
    assert said in refusal(house, put(tmp_path, "till/a.csv", csv_text([good("sale")])))


def test_a_column_that_no_table_of_the_source_has_is_named_without_a_table_too(tmp_path):
    house = make_house(tmp_path, HOUSE + TILL + '[source.columns]\nwaiter = "W"\n')
    assert "has no column 'waiter'" in refusal(house, put(tmp_path, "till/a.csv", [good("sale", W="Ann")]))


def test_a_format_without_a_time_of_day_makes_no_moments(tmp_path):
    house = make_house(tmp_path, HOUSE + TILL + 'date_format = "%d/%m/%Y"\n')
    path = put(tmp_path, "till/a.csv", [good("sale", sold_at="02/03/2026")])
    said = (
        "Source 'till': date_format = '%d/%m/%Y' has no time of day, and sold_at needs one; or dates_are = "
        "'whole days', where its rows are what was sold in a day."
    )
    assert refusal(house, path) == said
    for timed in ("%d/%m/%Y %H:%M", "%d/%m/%Y %-I:%M %p", "%c"):
        (tmp_path / "stillroom.toml").write_text(HOUSE + TILL + f'date_format = "{timed}"\n')
        assert planned(load_house(tmp_path, plugins()), path).settings.date_format == timed


@pytest.mark.parametrize(
    ("name", "shown"),
    [
        ("two\nlines.csv", "two\\nlines.csv"),
        ("red\x1b[31m\u202e.csv", "red\\x1b[31m\\u202e.csv"),
        ("caf\udce9.csv", "caf\\xe9.csv"),
        ("Café 1.csv", "Café 1.csv"),
    ],
)
def test_a_name_stands_on_one_line_wherever_it_is_told(tmp_path, name, shown):
    house = make_house(tmp_path, HOUSE + TILL)
    put(tmp_path, f"till/{name}", [good("sale"), good("sale", quantity="x")])
    taken = command("intake", house=house)
    assert taken.out.startswith(f"till/{shown}: 1 row landed")
    assert command("aside", house=house).out.startswith(f"till/{shown}, row 3")
    assert command("ledger", house=house).out.splitlines()[1].endswith(f"till/{shown}")
    assert f"\ntill/{shown}: " not in taken.err
    assert command("verify", house=house).code == 0
    looked = command("look", tmp_path / "till" / name, house=house).out
    assert looked.startswith(f"till/{shown}\n")
    assert "\nNext: stillroom intake " in looked
    put(tmp_path, f"till/{name}", "sold_at\n")
    assert command("intake", house=house).err.startswith(f"till/{shown}: not a file of table 'sale'")
