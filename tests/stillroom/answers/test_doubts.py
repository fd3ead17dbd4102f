"""Everything in doubt stands in one place, with what mends it and the money that it touches."""

from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path

import pytest

import stillroom_plugins.reports
from house_builder import command, good, make_house, plugins, put, take_in
from stillroom.answers.doubts.books import Doubt
from stillroom.api import OpenHouse
from stillroom.house.house import House
from stillroom.house.settings import load_house

MONDAY = date(2026, 3, 2)


def sales(days: int = 28, leave_out: tuple[int, ...] = ()) -> list[dict[str, object]]:
    """A serve for 9 a day."""
    return [
        good("sale", sold_at=f"{MONDAY + timedelta(days=day)} 20:00") for day in range(days) if day not in leave_out
    ]


def bar(tmp_path, silent: tuple[int, ...] = (), **rows: list[dict[str, object]]) -> House:
    """A house that sells one drink, of gin and kelp tea, with more rows of some tables."""
    tea = good("spec", spec="Kelp tea", kind="preparation", yield_amount=700, yield_unit="ml", keeps_days=7)
    files = {
        "spec": [good("spec"), tea],
        "spec_line": [
            good("spec_line"),
            good("spec_line", line=2, item="Kelp tea", amount=20),
            good("spec_line", spec="Kelp tea", item="gin", amount=700),
        ],
        "ingredient": [good("ingredient")],
        "sale": sales(leave_out=silent),
    }
    house = make_house(tmp_path)
    for table in files.keys() | rows.keys():
        put(tmp_path, f"{table}/{table}.csv", [*files.get(table, []), *rows.get(table, [])])
    take_in(house)
    return house


def doubts(house: House) -> tuple[Doubt, ...]:
    return OpenHouse(settings=house, registry=plugins()).doubts()


def only(house: House, kind: str) -> Doubt:
    [one] = [doubt for doubt in doubts(house) if doubt.kind == kind]
    return one


def test_a_house_in_order_has_none(tmp_path):
    house = bar(tmp_path)
    assert doubts(house) == ()
    assert command("doubts", house=house).out == "Nothing is in doubt.\n"


def test_a_line_set_aside_touches_the_sales_of_the_drinks_that_hold_it_at_any_depth(tmp_path):
    house = bar(tmp_path, spec_line=[good("spec_line", spec="Kelp tea", line=2, item="kelp", amount="much")])
    found = only(house, "rows set aside")
    assert (found.subject, found.mend, found.drinks) == ("Kelp tea", "spec_line/spec_line.csv, row 5", ("Fig Sour",))
    assert (found.money, found.share) == (28 * 9, 1.0)


def test_the_largest_goes_first_and_a_row_corrected_since_is_no_longer_told(tmp_path):
    wrong = good("ingredient", item="tonic", pack_cost="free")
    house = bar(tmp_path, sale=[good("sale", quantity="two")], ingredient=[wrong])
    assert [doubt.mend for doubt in doubts(house)] == ["sale/sale.csv, row 30", "ingredient/ingredient.csv, row 3"]
    put(tmp_path, "ingredient/next.csv", [good("ingredient", item="tonic")])
    put(tmp_path, "sale/sale.csv", [*sales(), good("sale")])
    take_in(house)
    assert doubts(house) == ()
    assert command("aside", house=house).out == "Nothing is set aside.\n"


def test_a_row_of_an_export_that_another_tells_of_whole_is_no_longer_told(tmp_path):
    lines = [good("sale", sold_at=f"2026-03-{day:02} 20:00", line_id=day) for day in range(2, 30)]
    wrong = [{**line, "quantity": "two"} if line["line_id"] == 12 else line for line in lines]
    house = bar(tmp_path)
    put(tmp_path, "sale/sale.csv", wrong)
    take_in(house)
    assert len(doubts(house)) == 1
    put(tmp_path, "sale/week.csv", [*lines[5:15], good("sale", sold_at="2026-03-16 21:00", line_id=99)])
    take_in(house)
    assert doubts(house) == ()


def test_an_item_without_a_price_is_told_with_the_cell_that_mends_it(tmp_path):
    house = bar(
        tmp_path,
        spec_line=[
            good("spec_line", line=3, item="tonic", amount=90),
            good("spec_line", line=4, item="salt", unit="g"),
        ],
        ingredient=[good("ingredient", item="Tonic", pack_cost="")],
    )
    found = {one.subject: (one.do, one.mend) for one in doubts(house) if one.kind == "prices"}
    assert found == {
        "Tonic": ("enter its price", "ingredient/ingredient.csv, row 3, pack_cost"),
        "salt": ("enter its price", "a row in ingredient/ingredient.csv"),
    }


def test_what_an_ingredient_by_another_name_may_be_is_asked_until_the_price_list_says_it(tmp_path):
    """Of what is bought alone: a garnish that is made in house has its own lines to say what it is."""
    juice = good("ingredient", item="Zitronensaft", pack_amount=1000, pack_cost=4)
    lines = [
        good("spec_line", line=3, item="Zitronensaft", amount=20),
        good("spec_line", line=4, item="Almonds", amount=1, unit="each"),
        good("spec_line", spec="Almonds", item="gin", amount=10),
    ]
    garnish = good("spec", spec="Almonds", kind="garnish", yield_amount=20, yield_unit="each")
    house = bar(tmp_path, spec=[garnish], spec_line=lines, ingredient=[juice])
    found = only(house, "unknown contents")
    assert found.what == (
        "The price list says nothing of Zitronensaft (lemon juice), which may be what stands in brackets: until then "
        "it counts as water, or is left out."
    )
    assert (found.do, found.mend) == (
        "say what is meant by Zitronensaft", "the column known_as of ingredient/ingredient.csv",
    )  # fmt: skip
    assert (found.money, found.drinks) == (None, ("Fig Sour",))
    put(tmp_path, "ingredient/ingredient.csv", [good("ingredient"), {**juice, "known_as": "lemon juice"}])
    take_in(house)
    assert doubts(house) == ()


def test_a_till_name_is_worth_what_it_sold_and_a_guess_counts_for_nothing(tmp_path):
    house = bar(tmp_path, sale=[good("sale", sold_at="2026-03-10 21:00", till_item="FIG SR", net_amount=28)])
    found = only(house, "till names")
    assert (found.money, found.share, found.mend) == (28, pytest.approx(0.1), "stillroom match")


def test_names_that_the_spec_book_does_not_have_are_told_with_the_likely_one(tmp_path):
    house = bar(
        tmp_path,
        batch=[good("batch", preparation="Kelp te")],
        tasting=[good("tasting", spec="Fog Sour"), good("tasting", panelist="P2", spec="fig sour", version=7)],
    )
    found = {doubt.what: doubt.mend for doubt in doubts(house) if doubt.kind == "unknown names"}
    assert found == {
        "A batch is of Kelp te, which is no spec: did you mean Kelp tea?": "batch/batch.csv, row 2",
        "A tasting is of Fog Sour, which is no spec: did you mean Fig Sour?": "tasting/tasting.csv, row 2",
        "A tasting is of version 7 of fig sour, which the spec book does not have.": "tasting/tasting.csv, row 3",
    }


def test_an_intake_and_a_look_tell_unknown_names_and_amounts_at_once(tmp_path):
    house = bar(tmp_path)
    odd = [good("batch", preparation="Kelp te"), good("batch", batch="B2", preparation="kelp tea", made_amount=7000)]
    path = put(tmp_path, "batch/batch.csv", odd)
    looked = command("look", path, house=house)
    assert "? row 2: Kelp te is no spec: did you mean Kelp tea?" in looked.out
    assert command("look", path, "--json", house=house).json["unknown"] == [
        "row 2: Kelp te is no spec: did you mean Kelp tea?"
    ]
    said = command("intake", house=house)
    named = "A batch is of Kelp te, which is no spec: did you mean Kelp tea? (batch/batch.csv, row 2)"
    assert f"? {named}" in said.out
    assert "? Batch B2 is 7 000 ml; a making gives 700 ml. (batch/batch.csv, row 3)" in said.out.replace("\u202f", " ")
    assert command("intake", "--json", house=house).json["remarks"][0] == named


def test_a_panel_planned_for_an_unknown_spec_is_told_the_likely_one(tmp_path):
    house = bar(tmp_path)
    said = command("panel", "plan", "Fig Sauer", 1, 2, "--panelists", 6, house=house)
    assert "There is no spec 'Fig Sauer' in the spec book yet" in said.out
    assert "Did you mean 'Fig Sour'?" in " ".join(said.out.split())


def test_an_improbable_amount_is_remarked_on_unless_all_batches_are_like_it(tmp_path):
    made = {"Ten": [7000], "Tenth": [70], "Four": [2800], "Half": [350], "Always ten": [7000] * 5}
    house = bar(
        tmp_path,
        spec=[good("spec", spec=name, kind="preparation", yield_amount=700, yield_unit="ml") for name in made],
        batch=[
            good("batch", batch=f"{name} {n}", preparation=name, made_amount=amount, made_on=f"2026-03-{24 + n}")
            for name, amounts in made.items()
            for n, amount in enumerate(amounts)
        ],
    )
    found = {doubt.subject: doubt.what for doubt in doubts(house) if doubt.kind == "amounts"}
    assert found.keys() == {"Ten", "Tenth"}
    assert found["Tenth"] == "Batch Tenth 0 is 70 ml; a making gives 700 ml."


def test_a_silent_day_in_an_open_week_is_told_and_a_weekly_day_off_is_not(tmp_path):
    mondays = tuple(range(0, 28, 7))
    found = only(bar(tmp_path, silent=(*mondays, 10)), "days without sales")
    assert found.what == "No till line on 12 Mar, in weeks that have others."
    assert found.money == 9


def test_a_day_off_that_is_confirmed_is_no_doubt_any_more(tmp_path):
    house = bar(tmp_path, silent=(10, 11))
    found = only(house, "days without sales")
    assert found.mend == "stillroom closed 2026-03-12 2026-03-13; or stillroom intake FILE"
    assert command("closed", "2026-03-11", house=house).err.startswith("The till has lines of 2026-03-11")
    said = command("closed", "2026-03-12", house=house)
    assert (said.code, said.out) == (0, "Closed: 12 Mar 2026. Written to stillroom.toml.\n")
    house = load_house(house.folder, plugins())
    assert house.closed == (date(2026, 3, 12),)
    assert only(house, "days without sales").what == "No till line on 13 Mar, in weeks that have others."
    text = (tmp_path / "stillroom.toml").read_text()
    assert command("closed", "2026-03-13", house=house).code == 0
    house = load_house(house.folder, plugins())
    assert doubts(house) == ()
    assert text.splitlines()[:-1] == (tmp_path / "stillroom.toml").read_text().splitlines()[:-1]


def test_a_batch_without_an_end_is_worth_what_is_left_of_it(tmp_path):
    house = bar(tmp_path, batch=[good("batch", preparation="Kelp tea", made_amount=700)])
    found = only(house, "batches without an end")
    assert found.do == "log what became of 1 batch"
    assert found.money == pytest.approx(21 * (700 - 7 * 20 - 20) / 700)  # seven days and that of the making, 20 ml each


def test_no_built_in_report_has_faults_of_its_own_to_mend():
    """What is in doubt in the data has one home: reports of plugins, which it does not know, may add to the page."""
    files = sorted(Path(stillroom_plugins.reports.__file__).parent.rglob("*.py"))
    assert len(files) > 20
    assert [path.name for path in files if "mend=" in path.read_text(encoding="utf-8")] == []


def test_the_page_lists_the_same(tmp_path):
    house = bar(tmp_path, batch=[good("batch", preparation="Kelp te")], sale=[good("sale", quantity="two")])
    review = OpenHouse(settings=house, registry=plugins()).document().review
    assert [(one.do, one.mend, one.money) for one in review.mend] == [
        (one.do, one.mend, one.money) for one in doubts(house)
    ]
    said = command("doubts", house=house)
    assert said.code == 0
    assert all(len(line) <= 80 for line in said.out.splitlines())
    assert "  Correct 1 row of sale/sale.csv" in said.out
