"""`stillroom look` as a conversation on a terminal, of one file and of a folder; and the same without a terminal."""

from __future__ import annotations

import pytest

from books_of_strangers import STRANGERS
from house_builder import HOUSE, command, current, make_house, plugins, put
from invented_books import BOOKS
from kept_books import Book
from stillroom.errors import UsageError
from stillroom.house.settings import load_house
from stillroom.looking.gathering import gathered
from stillroom.looking.look import look
from stillroom.looking.patterns import Kin
from terminal import Terminal

TILL = "Date,Time,Item,Qty,Amount\n"
MARCH = TILL + "".join(f"0{n}/04/2026,20:0{n},Fig,1,9.50\n" for n in range(1, 6)) + "Bar closed,,,,\n"
APRIL = TILL + "28/05/2026,20:00,Fig,1,12\n"
BARE = "Drink,Ingredient,Amount\nFig Sour,gin,45\n,lemon,22.5\n,bitters,2 dashes\n"


def test_a_file_is_settled_and_taken_in_without_a_word_of_toml(tmp_path):
    house = make_house(tmp_path / "house", "# mine\n" + HOUSE)
    path = put(tmp_path / "house", "till/2026-04.csv", MARCH)
    terminal = Terminal("look", path, house=house.folder)
    seen = terminal.asks()
    assert "till/2026-04.csv                             sale         3 questions" in seen
    assert "? '01/04/2026 20:01' may be\n  > 1  1 April 2026\n    2  4 January 2026\n" in seen
    assert "Enter = 1 April 2026 (so read, all lie within 5 days; else within 121)" in seen
    assert "'Amount' does not say whether tax is inside" in terminal.says("")
    assert "'Bar closed' (row 7) holds one cell alone" in terminal.says("20 %")
    result = terminal.says("")
    assert "6 rows read: 5 would land, 0 set aside, 1 passed over (blank, totals)." in result
    assert "2  2026-04-01 20:01  The Test Room  Fig               1      7.9167" in result
    assert "Take the files in now?" in terminal.says("")
    assert "Say now what these till names are?" in terminal.says("")
    code, _ = terminal.ends("n")
    assert code == 0
    settings = (house.folder / "stillroom.toml").read_text()
    assert settings.startswith("# mine\n" + HOUSE)
    assert 'files = ["till/*.csv"]' in settings
    assert [str(row[0].date()) for row in current(house, "sale", "sold_at")] == [f"2026-04-0{n}" for n in range(1, 6)]


def test_doubtful_days_are_asked_of_in_the_same_conversation(tmp_path):
    house = make_house(tmp_path / "house", HOUSE)
    days = ["2026-03-02", "2036-03-03", "2036-03-04", "2036-03-05", "2036-03-06", "2026-03-07"]
    text = "Date,Prep,Made\n" + "".join(f"{day},Kelp Tea,{n} l\n" for n, day in enumerate(days, 1))
    terminal = Terminal("look", put(house.folder, "prep log.csv", text), house=house.folder)
    assert "6 rows read: 2 would land, 4 set aside." in terminal.asks()
    assert "Take the files in now?" in terminal.says("")
    seen = terminal.says("")
    assert "? prep log.csv, row 3: made_on 2036-03-03 lies after" in seen
    assert "2036-03-03 | Kelp Tea | 2 l" in seen
    assert "Enter = 2026-03-03; y = as it stands; a day like 2026-03-01; l = later." in seen
    assert "It must be a day like 2026-03-01, not 'maybe'." in terminal.says("maybe")
    assert "row 4: made_on 2036-03-04" in terminal.says("")
    assert "row 5: made_on 2036-03-05" in terminal.says("y")
    assert "row 6: made_on 2036-03-06" in terminal.says("2026-03-08")
    code, last = terminal.ends("l")
    assert "Confirmed: 1 row of prep log.csv." in last
    assert "Corrected: 2 rows of prep log.csv; the file itself stays as it is." in last
    assert code == 1  # a row is still set aside
    made = {float(amount): str(day) for amount, day in current(house, "batch", "made_amount", "made_on")}
    assert made == {1: "2026-03-02", 2: "2026-03-03", 3: "2036-03-04", 4: "2026-03-08", 6: "2026-03-07"}
    assert (house.folder / "prep log.csv").read_text() == text


def test_a_folder_outside_is_copied_in_and_each_kind_settled_once(tmp_path):
    house = make_house(tmp_path / "house", HOUSE)
    mine = tmp_path / "my-files"
    put(mine, "till/2026-04.csv", MARCH)
    put(mine, "till/2026-05.csv", APRIL)
    put(mine, "specs.csv", BARE)
    put(mine, "notes.txt", "alpha,beta\n1,2\n")
    put(mine, ".hidden.csv", "x")
    terminal = Terminal("look", mine, house=house.folder)
    assert "Copy 4 files into it?" in terminal.asks()
    seen = terminal.says("")
    assert "4 files." in seen
    assert "my-files/till/2026-05.csv and 1 alike        sale         1 question" in seen  # 28/05 is one thing alone
    assert "NOT READ  my-files/notes.txt: no table is near these headings" in seen
    assert "2 rows have an amount and no unit: it is in\n  > 1  ml" in seen
    result = terminal.says("")
    assert "2  Fig Sour        1     1  gin          45  ml" in result
    assert "4  Fig Sour        1     3  bitters       2  dash" in result
    seen = terminal.says("")
    assert "source 'specs' reads my-files/specs*.csv into" in seen
    assert "The same rows say more, of the table spec:" in seen
    assert "Enter = drink (nothing says what it yields, or how long it keeps)" in seen
    assert "Fig Sour        1  drink             1  serve" in terminal.says("")
    assert "source 'specs 2' reads my-files/specs*.csv into" in terminal.says("")
    assert "1 row read: 1 would land" in terminal.says("")
    assert "What is a row of it?" in terminal.says("")
    assert "Take the files in now?" in terminal.says("l")
    code, seen = terminal.ends("n")
    assert code == 1  # the notes are left
    assert seen.endswith("Next: stillroom intake\n")
    found = {source.name: source for source in load_house(house.folder, plugins()).sources}
    assert found["till"].files == ("my-files/till/*.csv",)
    assert found["till"].date_format == "%d/%m/%Y %H:%M"
    assert (mine / "specs.csv").read_text() == BARE
    assert not (house.folder / "my-files" / ".hidden.csv").exists()


def test_another_table_another_heading_and_leaving_out(tmp_path):
    make_house(tmp_path, HOUSE)
    path = put(tmp_path, "list.csv", "Item,Size,Price,Remark\ngin,0.7 l,20,dry\n")
    terminal = Terminal("look", path, house=tmp_path)
    assert "fills     table ingredient" in terminal.asks()
    assert "there are: date_format" in terminal.says("colour = Remark")
    assert "as set    item = Remark" in terminal.says("item = Remark")
    assert "Enter, t, s, or such as: note = Remarks." in terminal.says("?")
    assert "9  batch_event: what became of a batch" in terminal.says("t")
    assert "what is made_on" in terminal.says("8")
    code, seen = terminal.ends("l")
    assert code == 1
    assert seen.rstrip().endswith("Left out: nothing can land without made_on.")
    assert not load_house(tmp_path, plugins()).sources


def test_the_same_answers_from_a_file(tmp_path):
    house = make_house(tmp_path, HOUSE)
    put(tmp_path, "till/2026-04.csv", MARCH)
    put(tmp_path, "specs.csv", BARE)
    said = put(tmp_path, "said.toml", 'unit = "ml"\n["2026*.csv"]\ndate_format = "%d/%m/%Y %H:%M"\n')
    before = command("look", tmp_path / "till", tmp_path / "specs.csv", house=house)
    assert before.code == 1
    assert "Say it with --answer unit=... Likely ml: the amounts go from 22.5 to 45." in " ".join(before.out.split())
    found = command("look", tmp_path, "--answers", said, "--write", "--json", house=house)
    files = {one["file"]: one for one in found.json["files"]}
    assert [(name, one["written"], one["rows_landed"]) for name, one in files.items()] == [
        ("specs.csv", True, 3), ("till/2026-04.csv", True, 5),
    ]  # fmt: skip
    assert found.code == 1  # 'Bar closed' would be set aside
    assert command("look", tmp_path, "--json", house=house).json["files"][0]["there_already"]
    idle = command("look", tmp_path, "--answer", "colour=red", house=house)
    assert (idle.code, idle.err) == (2, "'colour' is no question of any of these files.\n")


@pytest.mark.parametrize(
    ("rows", "settings", "best", "why"),
    [
        ("01/04/2026\n02/04/2026", "", "%d/%m/%Y", "so read, all lie within 2 days; else within 32"),
        ("01/12/2026\n02/01/2026\n02/02/2026", "", "%m/%d/%Y", "so read, the rows are in order"),
        ("01/04/2026", "", "%d/%m/%Y", "nothing in the file tells; most people write the day first"),
        ("01/04/2026", "%m-%d-%y", "%m/%d/%Y", "source 'old' writes them so"),
    ],
)
def test_which_of_two_dates_is_likely(tmp_path, rows, settings, best, why):
    old = f'[[source]]\nname = "old"\nplugin = "batch-book"\ndate_format = "{settings}"\n' if settings else ""
    house = make_house(tmp_path, HOUSE + old)
    if rows.startswith("01/12"):
        rows = "01/12/2026\n02/01/2026\n02/02/2026"
    text = "Made,Prep,Amount\n" + "".join(f"{day},Kelp Tea,1 l\n" for day in rows.split("\n"))
    (question,) = look(house, plugins(), put(tmp_path, "b.csv", text)).questions
    assert (question.key, question.default) == ("date_format", best)
    assert question.why.startswith(why)


def test_files_of_one_name_written_in_two_ways_stand_apart(tmp_path):
    house = make_house(tmp_path, HOUSE)
    put(tmp_path, "b/1.csv", "Made,Prep,Amount\n28/02/2026,Kelp Tea,1 l\n")
    put(tmp_path, "b/2.csv", "Made,Prep,Amount\n02/27/2026,Kelp Tea,1 l\n")
    groups = gathered(house, plugins(), [tmp_path / "b"], {}, lambda name, done, about: None).groups
    assert [[seen.file for seen in group.looks] for group in groups] == [["b/1.csv"], ["b/2.csv"]]
    first, _ = groups
    assert look(house, plugins(), first.lead.path, kin=first.kin).files == ("b/1.csv",)
    assert look(house, plugins(), first.lead.path, kin=Kin(beside=first.rivals)).files == ("b/*.csv",)


def test_what_a_file_says_itself_no_answer_of_several_is_about(tmp_path):
    house = make_house(tmp_path, HOUSE + 'venues = ["Bar", "Garden Bar"]\n')
    rows = "sold_at,till_item,quantity,net_amount\n2026-03-02 20:00,Fig,1,9\n"
    names = ("Bar 2026-03.csv", "Garden Bar 2026-03.csv", "till 2026-03.csv")
    paths = [put(tmp_path, name, rows) for name in names]
    inside = rows.replace("sold_at", "Outlet,sold_at").replace("2026-03-02 20", "Bar,2026-03-02 20")
    paths.append(put(tmp_path, "both 2026-03.csv", inside))
    found = gathered(house, plugins(), paths, {"venue": "Bar"}, lambda name, done, about: None)
    asked = {one.lead.file: [(q.key, q.default) for q in one.lead.questions] for one in found.groups}
    assert asked == {
        "Bar 2026-03.csv": [],
        "Garden Bar 2026-03.csv": [("venue", "Garden Bar")],
        "till 2026-03.csv": [],
        "both 2026-03.csv": [],
    }
    says = {one.lead.file: one.said.get("venue", one.lead.columns.get("venue")) for one in found.groups}
    assert says == {
        "Bar 2026-03.csv": "Bar",
        "Garden Bar 2026-03.csv": None,
        "till 2026-03.csv": "Bar",
        "both 2026-03.csv": ("Outlet",),
    }
    (alone,) = gathered(house, plugins(), paths[1:2], {"venue": "Bar"}, lambda name, done, about: None).groups
    assert alone.said["venue"] == "Bar"  # of one file it is said on purpose


def test_the_year_in_a_files_name_is_not_that_of_another(tmp_path):
    house = make_house(tmp_path, HOUSE)
    paths = [put(tmp_path, f"prep {year}.csv", "Made,Prep,Amount\n28.2.,Kelp Tea,1 l\n") for year in (2025, 2026)]
    found = gathered(house, plugins(), paths, {"year": "2026"}, lambda name, done, about: None)
    assert sorted((one.lead.file, one.lead.year, len(one.looks)) for one in found.groups) == [
        ("prep 2025.csv", 2025, 1),
        ("prep 2026.csv", 2026, 1),
    ]
    first, *_ = found.groups
    seen = look(house, plugins(), first.lead.path, kin=first.kin, answers=first.said)
    assert (seen.files, seen.year) == (("prep 2025*.csv",), 2025)


def test_a_source_whose_year_its_files_name_says_reads_no_file_of_another_year(tmp_path):
    house = make_house(tmp_path, HOUSE)
    seen = look(house, plugins(), put(tmp_path, "prep 2025.csv", "Made,Prep,Amount\n28.2.,Kelp Tea,1 l\n"))
    assert (seen.files, seen.source, seen.year) == (("prep 2025*.csv",), "prep", 2025)


def test_a_pattern_finds_no_file_of_another_kind(tmp_path):
    house = make_house(tmp_path, HOUSE)
    put(tmp_path, "book 2.csv", "Item,Pack,Price\ngin,0.7 l,20\n")
    seen = look(house, plugins(), put(tmp_path, "book 1.csv", BARE))
    assert (seen.files, seen.source) == (("book 1.csv",), "book 1")
    put(tmp_path, "book 2.csv", BARE)
    seen = look(house, plugins(), tmp_path / "book 1.csv")
    assert (seen.files, seen.source) == (("book *.csv",), "book")


@pytest.mark.parametrize(
    ("answers", "words"),
    [
        ({"date_format": "%d.%q"}, "is no answer to date_format"),
        ({"decimal": "x"}, "'x' is no answer to decimal: Input should be '.' or ','"),
        ({"tax_pct": "some"}, "'some' is no answer to tax_pct: write a number."),
        ({"tax_pct": "-3"}, "'-3' is no answer to tax_pct: Input should be greater than or equal to 0."),
    ],
)
def test_answers_that_cannot_be(tmp_path, answers, words):
    house = make_house(tmp_path, HOUSE)
    with pytest.raises(UsageError) as refused:
        look(house, plugins(), put(tmp_path, "t.csv", MARCH), answers=answers)
    assert words in str(refused.value)


def test_what_is_open_of_a_source_that_is_there_is_written_into_it(tmp_path):
    house = make_house(tmp_path, HOUSE)
    path = put(tmp_path, "till/2026-04.csv", MARCH.replace("Bar closed,,,,\n", ""))
    command("look", path, "--write", house=house)
    before = (tmp_path / "stillroom.toml").read_text()
    terminal = Terminal("look", path, house=tmp_path)
    seen = terminal.asks()
    assert "there already" in seen
    assert "  > 1  1 April 2026" in seen
    seen = terminal.says("")
    assert "Written to stillroom.toml: date_format of source 'till'." in seen
    assert "5 rows read: 5 would land, 0 set aside." in seen
    terminal.says("")
    terminal.ends("n")
    after = (tmp_path / "stillroom.toml").read_text()
    assert after.replace('date_format = "%d/%m/%Y %H:%M"\n', "", 1).split() == before.split()


def test_the_sheets_of_a_workbook_go_to_the_sources_they_need(tmp_path):
    make_house(tmp_path, HOUSE)
    book = Book(
        name="all in one",
        file="all in one.xlsx",
        truth={},
        sheets={
            "Prices": [["Item", "Pack", "Price"], ["gin", "0.7 l", 21], ["rum", "1 l", 19]],
            "Batches": [["Made", "Prep", "Amount"], ["13/03/2026", "kelp tea", "1 l"]],
            "Notes": [["call the ice man"], ["buy limes"]],
        },
    )
    terminal = Terminal("look", book.write(tmp_path), house=tmp_path)
    assert "sheet 'Prices' of 3" in terminal.asks()
    assert "fills     table batch" in terminal.says("")
    seen = terminal.says("")
    assert "Not read: sheet 'Notes'." in seen
    assert "What is a row of it?" in seen
    assert "2 rows landed in ingredient" not in terminal.says("")
    code, seen = terminal.ends("")
    assert code == 0
    assert "3 rows landed, 0 set aside, 0 files refused." in seen


@pytest.mark.parametrize(("line", "asked"), [("Bar closed,,,,", ["Bar closed"]), ("45,,,,", []), ("0,,,0,", [])])
def test_which_rows_may_be_none(tmp_path, line, asked):
    house = make_house(tmp_path, HOUSE)
    text = f"{TILL}13/04/2026,20:00,Fig,1,9.50\n14/04/2026,20:00,Fig,1,9.50\n{line}\n"
    questions = look(house, plugins(), put(tmp_path, "t.csv", text)).questions
    assert [one.default for one in questions if one.key == "totals"] == asked


def test_what_a_row_says_of_two_tables_is_shown_and_written_for_each(tmp_path):
    make_house(tmp_path, HOUSE)
    book = next(one for one in BOOKS if one.name == "what became of it in the same row, German")
    terminal = Terminal("look", book.write(tmp_path), house=tmp_path)
    seen = terminal.asks()
    assert "aufgebraucht" not in seen
    assert "used up" in seen
    seen = terminal.says("")
    assert "The same rows say more, of the table batch:" in seen
    assert "4 rows read: 4 would land, 0 set aside." in seen
    terminal.says("")
    code, seen = terminal.ends("")
    assert code == 0
    assert "7 rows landed, 0 set aside, 0 files refused." in seen


def test_what_would_be_read_wrong_is_asked_once_and_then_read_right(tmp_path):
    house = make_house(tmp_path / "house", HOUSE)
    for book in STRANGERS:
        if "voids" in book.answers or "shares" in book.answers:
            book.write(house.folder / "mine")
    terminal = Terminal("look", house.folder / "mine", house=house.folder)
    shown = [terminal.asks()]
    while (seen := terminal.goes_on("")) is not None:
        shown.append(seen)
    text = "".join(shown)
    assert text.count("? 2 lines are voids or refunds without a minus (such as Reed Sour): count") == 1
    assert text.count("? 'ABV %' has no number above 0.447: 0.447 is") == 1
    assert sorted(row[0] for row in current(house, "sale", "quantity")) == [-1, -1, 1, 1, 2]
    assert sorted(row[0] for row in current(house, "ingredient", "abv_pct")) == [16.5, 40, 44.7]
