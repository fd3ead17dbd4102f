"""What looking at a file promises is what intake does by the settings that looking wrote; and what it recognises."""

from __future__ import annotations

import gzip
from dataclasses import replace
from datetime import datetime
from pathlib import Path

import polars as pl
import pytest

from house_builder import HOUSE, SOURCES, ask, csv_text, good, make_house, plugins, put, take_in
from stillroom.errors import FileRefused, SettingsError
from stillroom.house import House, SourceSettings
from stillroom.intake.casting import Clock
from stillroom.looking.handwriting import Handwriting, Survey
from stillroom.looking.look import Look, look, write_settings
from stillroom.looking.rehearsal import SHOWN_ROWS
from stillroom.settings import load_house
from stillroom.settings_text import quoted, with_source
from stillroom.store import opening
from stillroom_schemas import TABLES
from written import as_json_lines, as_parquet, as_xlsx

CLEAN = csv_text([good("sale", line_id=n, sold_at=f"2026-03-02 20:{n:02}") for n in range(10, 30)])
MESSY = (
    "Takings of March\r\n\r\n"
    "Closed;Article;Qty;Net;Receipt;Waiter\r\n"
    + "".join(f"{n}.03.2026 21:05;Crème {n};2;1.{n}4,50;{n};Jo\r\n" for n in range(10, 25))
    + "25.03.2026 21:05;Crème 25;2;neun;25;Jo\r\n\r\nTotal;;;30,00;;\r\n"
).encode("cp1252")
AMBIGUOUS = "Date,Time,Item,Qty,Net\n" + "".join(f"0{n}/04/2026,9:0{n} PM,Fig Sour,1,9.50\n" for n in range(1, 9))
WIDE = (
    "Sitting,Tasted,Drink,Version,Attribute,Ana,Bo,Cleo\n"
    "s1,2026-03-02,Fig Sour,1,liking,6,5,7\ns1,2026-03-02,Fig Sour,2,liking,7,,8\n"
    "s1,2026-03-02,Fig Sour,3,liking,5,x,6\n"
    "s1,2026-03-02,Fig Sour,1,liking,4,4,4\n"
)
TOTALS = "sold_at,till_item,quantity,net_amount\n" + "".join(
    f"2026-03-{day:02} 20:00,Fig Sour,1,9\n2026-03-{day:02} 21:00,Fig Sour,0,9\nSubtotal,,2,18\n\n"
    for day in range(1, 9)
)
TYPED = [
    {"sold_at": datetime(2026, 3, day, 20), "till_item": "Fig Sour", "quantity": 1, "net_amount": 9.5}
    for day in range(1, 9)
]
BATCHES = (
    "Label,Prep,Made,Volume,Unit,Expires\n"
    "B1,Fig Cordial,13/03/2026,650,ml,27/03/2026\nB1,Fig Cordial,14/03/2026,650,ml,\n"
)
FILES: dict[str, tuple[str, str | bytes]] = {
    "clean": ("till/clean.csv", CLEAN),
    "semicolons, decimal commas, cp1252, a title, a total": ("till/march.csv", MESSY),
    "day or month first": ("till/april.csv", AMBIGUOUS),
    "a column a panelist": ("sheets/wide.csv", WIDE),
    "a workbook": ("till/2026 lines.xlsx", as_xlsx(TYPED)),
    "totals": ("totals.csv", TOTALS),
    "gzip": ("till/clean.csv.gz", gzip.compress(CLEAN.encode())),
    "Parquet": ("till/lines.parquet", as_parquet(TYPED)),
    "JSON lines": ("till/lines.jsonl", as_json_lines(TYPED)),
    "UTF-16": ("till/wide letters.csv", MESSY.decode("cp1252").encode("utf-16")),
    "a key twice": ("batches [new].csv", BATCHES),
    "headings alone": ("blank.csv", CLEAN.splitlines()[0] + "\n"),
}


def looked(house: House, path: Path, **how: str) -> Look:
    """A look that must leave no trace in the house."""
    before = sorted(house.folder.rglob("*"))
    seen = look(house, plugins(), path, **how)
    assert sorted(house.folder.rglob("*")) == before
    return seen


def assert_kept(house: House, seen: Look) -> None:
    """An intake by the settings as they are now does what was promised."""
    assert seen.rehearsal is not None
    promised = seen.rehearsal.outcome
    outcome = next(o for o in take_in(house) if o.file == seen.file)
    facts = ("status", "table", "rows_read", "rows_landed", "rows_set_aside", "rows_passed_over", "unused")
    assert [getattr(outcome, fact) for fact in facts] == [getattr(promised, fact) for fact in facts]
    columns = ", ".join(seen.rehearsal.first_rows[0]) if seen.rehearsal.first_rows else "row_number"
    landed = ask(house, f"SELECT {columns} FROM current_{seen.table} ORDER BY ALL LIMIT {SHOWN_ROWS}")
    assert landed == [tuple(row.values()) for row in seen.rehearsal.first_rows]
    reasons = ask(house, 'SELECT DISTINCT row_number, "column", problem FROM set_aside')
    assert len({reason[1:] for reason in reasons}) == len(seen.rehearsal.reasons) + seen.rehearsal.more_reasons
    assert {(r["first_row"], r["column"], r["problem"]) for r in seen.rehearsal.reasons} <= set(reasons)


@pytest.mark.parametrize("kind", FILES)
def test_intake_keeps_what_look_promised(tmp_path: Path, kind: str) -> None:
    name, content = FILES[kind]
    house = make_house(tmp_path, HOUSE)
    seen = looked(house, put(tmp_path, name, content))
    write_settings(house, seen)
    house = load_house(tmp_path)
    assert_kept(house, seen)
    again = looked(house, tmp_path / name)
    assert again.there_already
    assert again.settings_text is None
    assert again.rehearsal == replace(seen.rehearsal, outcome=again.rehearsal.outcome)  # type: ignore[type-var]


def test_the_promise_is_not_empty(tmp_path: Path) -> None:
    house = make_house(tmp_path, HOUSE)
    counts = {}
    for name, content in FILES.values():
        rehearsal = look(house, plugins(), put(tmp_path, name, content)).rehearsal
        assert rehearsal is not None
        counts[name] = (rehearsal.outcome.rows_landed, rehearsal.outcome.rows_set_aside)
    assert counts == {
        "till/clean.csv": (20, 0),
        "till/march.csv": (15, 1),
        "till/april.csv": (0, 8),
        "sheets/wide.csv": (5, 6),
        "till/2026 lines.xlsx": (8, 0),
        "totals.csv": (8, 8),
        "till/clean.csv.gz": (20, 0),
        "till/lines.parquet": (8, 0),
        "till/lines.jsonl": (8, 0),
        "till/wide letters.csv": (15, 1),
        "batches [new].csv": (1, 1),
        "blank.csv": (0, 0),
    }


def test_an_ambiguous_date_is_asked_about_and_the_answer_is_kept_to(tmp_path: Path) -> None:
    house = make_house(tmp_path, HOUSE)
    path = put(tmp_path, "april.csv", AMBIGUOUS)
    seen = looked(house, path)
    assert seen.exit_code == 1
    assert seen.date_format is None
    [question] = seen.questions
    assert question.text == "'01/04/2026 9:01 PM' may be"
    assert question.choices == (
        '1 April 2026: date_format = "%d/%m/%Y %I:%M %p"',
        '4 January 2026: date_format = "%m/%d/%Y %I:%M %p"',
    )
    write_settings(house, seen)
    settings = tmp_path / "stillroom.toml"
    answer = 'date_format = "%m/%d/%Y %I:%M %p"'
    settings.write_text(settings.read_text().replace(f"# {answer}", answer))
    house = load_house(tmp_path)
    seen = looked(house, path)
    assert seen.exit_code == 0
    assert_kept(house, seen)
    assert ask(house, "SELECT min(sold_at) FROM current_sale") == [(datetime(2026, 1, 4, 21, 1),)]


def test_one_late_day_tells_the_order(tmp_path: Path) -> None:
    house = make_house(tmp_path, HOUSE)
    seen = looked(house, put(tmp_path, "april.csv", AMBIGUOUS + "13/04/2026,9:00 PM,Fig Sour,1,9.50\n"))
    assert seen.date_format == "%d/%m/%Y %I:%M %p"
    assert seen.exit_code == 0


def test_a_file_of_a_folder_that_settings_name_gets_a_source_before_theirs(tmp_path: Path) -> None:
    house = make_house(tmp_path, HOUSE + "# the till\n" + SOURCES)
    seen = looked(house, put(tmp_path, "sale/march.csv", MESSY))
    assert (seen.source, seen.before) == ("march", "sale")
    write_settings(house, seen)
    assert_kept(load_house(tmp_path), seen)


def test_a_file_that_the_settings_take_in_needs_no_others(tmp_path: Path) -> None:
    house = make_house(tmp_path, sale=CLEAN)
    seen = looked(house, tmp_path / "sale/sale.csv")
    assert (seen.there_already, seen.named, seen.source, seen.exit_code) == (True, True, "sale", 0)
    assert_kept(house, seen)
    seen = looked(house, put(tmp_path, "elsewhere.csv", CLEAN), source="sale")
    assert (seen.there_already, seen.named) == (True, False)


def test_a_held_store_is_no_matter(tmp_path: Path) -> None:
    house = make_house(tmp_path, sale=CLEAN)
    with opening.writing(house, TABLES):
        assert looked(house, tmp_path / "sale/sale.csv").exit_code == 0


def test_a_file_from_elsewhere_is_taken_in_by_its_source(tmp_path: Path) -> None:
    house = make_house(tmp_path / "house", HOUSE)
    path = put(tmp_path, "march.csv", MESSY)
    seen = looked(house, path, source="till")
    assert (seen.source, seen.named) == ("till", False)
    write_settings(house, seen)
    [outcome] = take_in(load_house(house.folder), path, source="till")
    assert (outcome.rows_landed, outcome.rows_set_aside) == (15, 1)


def test_what_is_missing_is_said_and_nothing_written(tmp_path: Path) -> None:
    house = make_house(tmp_path, HOUSE)
    seen = looked(
        house, put(tmp_path, "sheet.csv", "Tasted,Panelist,Drink,Version,Attribute\n2026-03-02,Ana,Fig,1,body\n")
    )
    assert seen.table == "tasting"
    assert seen.missing == ("session", "score")
    assert seen.exit_code == 1
    assert '# session = "..."' in (seen.settings_text or "")
    with pytest.raises(SettingsError, match="nothing was written: no heading fits session, score"):
        write_settings(house, seen)


def test_a_likely_word_is_no_suggestion_for_cells_that_do_not_fit(tmp_path: Path) -> None:
    house = make_house(tmp_path, HOUSE)
    rows = (
        "sold_at,till_item,quantity,Net,Amount\n2026-03-02 20:00,Fig Sour,1,yes,9\n2026-03-02 21:00,Fig Sour,1,no,9\n"
    )
    seen = looked(house, put(tmp_path, "t.csv", rows))
    assert seen.columns["net_amount"] == ("Amount",)
    assert seen.suggested == {"net_amount"}
    assert seen.unused == ("Net",)


@pytest.mark.parametrize("name", ["a=b.csv", 'the "big" one.csv', "back\\slash.csv", "bell\a.csv", "[a]*.csv"])
def test_any_name_of_a_file_can_be_written_down(tmp_path: Path, name: str) -> None:
    house = make_house(tmp_path, HOUSE)
    seen = looked(house, put(tmp_path, name, CLEAN))
    write_settings(house, seen)
    assert_kept(load_house(tmp_path), seen)


def test_a_name_that_settings_cannot_hold(tmp_path: Path) -> None:
    house = make_house(tmp_path, HOUSE)
    seen = looked(house, put(tmp_path, " t.csv ", CLEAN))
    with pytest.raises(SettingsError, match="Rename it"):
        write_settings(house, seen)
    assert (tmp_path / "stillroom.toml").read_text() == HOUSE


def test_a_file_of_corrections_needs_no_settings(tmp_path: Path) -> None:
    house = make_house(tmp_path, HOUSE)
    path = put(tmp_path, "aside.csv", "set aside from intake,set aside row,why it was set aside,till_item\n1,2,x,Fig\n")
    with pytest.raises(FileRefused, match="needs no settings"):
        looked(house, path)


def test_bytes_of_no_known_encoding(tmp_path: Path) -> None:
    house = make_house(tmp_path, HOUSE)
    with pytest.raises(FileRefused, match="neither UTF-8 nor cp1252"):
        looked(house, put(tmp_path, "t.csv", CLEAN.encode() + b"\x81\x8d\xff\n"))


def told(cells: list[str], dtype: pl.DataType) -> Handwriting:
    clock = Clock(date_format=None, house_zone="UTC", file_zone=None)
    survey = Survey(types={"x": dtype}, clock=clock)
    for cell in cells:  # batch by batch, as from a long file
        survey.add({"x": pl.Series([cell])})
    return survey.told()


@pytest.mark.parametrize(
    ("cells", "orders"),
    [
        (["03/04/26"], ["day, month, year", "month, day, year", "year, month, day"]),
        (["03/04/45"], ["day, month, year", "month, day, year"]),
        (["13/04/2026", "04/13/2026"], ["day, month, year", "month, day, year"]),
    ],
)
def test_dates_that_leave_their_order_open(cells: list[str], orders: list[str]) -> None:
    assert [way.order for way in told(cells, pl.Date()).ways] == orders


@pytest.mark.parametrize(
    ("cells", "date_format"),
    [
        (["2026-03-04"], None),
        (["2026-03-04", "13.03.2026"], "%d.%m.%Y"),
        (["4 Mar 2026", "not a date"], "%d %b %Y"),
        (["12/31/2026", "01/02/2026", "77/77/2026"], "%m/%d/%Y"),
        (["20260304"], "%Y%m%d"),
        (["soon"], None),
    ],
)
def test_dates_that_tell_how_they_are_written(cells: list[str], date_format: str | None) -> None:
    found = told(cells, pl.Date())
    assert (found.date_format, found.ways) == (date_format, ())


@pytest.mark.parametrize(
    ("cells", "decimal", "open_cell"),
    [
        (["9.50", "1,234"], ".", None),
        (["9,50", "1,234"], ",", None),
        (["€ 1.234,50"], ",", None),
        (["1,234", "7"], ".", "1,234"),
        (["9.50", "8.25", "9,50"], ".", None),
    ],
)
def test_decimal_marks(cells: list[str], decimal: str, open_cell: str | None) -> None:
    found = told(cells, pl.Float64())
    assert (found.decimal, found.decimal_open) == (decimal, open_cell)


def test_the_rest_of_the_settings_stays_as_it_is(tmp_path: Path) -> None:
    text = (
        '# mine\r\n[house]\r\nname = "X"   # why\r\ncurrency = "EUR"\r\n\r\n'
        '# the old one\r\n[[source]]\r\nname = "old"\r\nplugin = "p"'
    )
    (tmp_path / "stillroom.toml").write_bytes(text.encode())
    house = load_house(tmp_path)
    block = '[[source]]\nname = "new"\nplugin = "p"\n'
    after, found = with_source(house, "new", block, None)
    assert after == text + "\r\n\r\n" + block.replace("\n", "\r\n")
    assert [source.name for source in found.sources] == ["old", "new"]
    before, found = with_source(house, "new", block, "old")
    assert before == text.replace("# the old one", block.replace("\n", "\r\n") + "\r\n# the old one")
    assert [source.name for source in found.sources] == ["new", "old"]


MISLEADING = '[[source]]\nname = """\n[[source]]\n"""\nplugin = "p"\n'


@pytest.mark.parametrize(
    ("text", "message"),
    [
        (HOUSE + '[[source]]\nname = "new"\nplugin = "p"\n', "is there already"),
        ('source = [{ name = "a", plugin = "p" }]\n' + HOUSE, "does not fit in"),
        (
            HOUSE + '[[source]]\nname = """\n[[source]]\n"""\nplugin = "p"\n[[source]]\nname = "b"\nplugin = "p"\n',
            "no place",
        ),
    ],
)
def test_settings_into_which_a_source_cannot_be_put(tmp_path: Path, text: str, message: str) -> None:
    house = make_house(tmp_path, text)
    before = house.sources[-1].name
    with pytest.raises(SettingsError, match=message):
        with_source(house, "new", '[[source]]\nname = "new"\nplugin = "p"\n', before)


def test_settings_written_as_text_read_back_the_same(tmp_path: Path) -> None:
    from stillroom.house import Wide
    from stillroom.settings import house_of
    from stillroom.settings_text import source_text

    settings = SourceSettings(
        name='a "b" \\ \x1b é',
        plugin="till-export",
        files=("a/*.csv", "b.csv"),
        table="sale",
        columns={"sold_at": ("Date", "Time"), "till item": ("Ärtikel",)},
        constants={"venue": "Bar"},
        encoding="cp1252",
        separator="\t",
        sheet="S",
        decimal=",",
        date_format="%d/%m/%Y",
        time_zone="Europe/Lisbon",
        venue_in_name="x-{venue}-",
        names_end_at=(" (",),
        tax_pct=7.5,
        totals=("Summe",),
        wide=Wide(headings_are="venue", cells_are="quantity"),
        database="TILL",
        query="SELECT 1",
    )
    text = HOUSE + source_text(settings, frozenset({"sold_at"}), ["a remark"])
    assert house_of(text, tmp_path).sources == (settings,)
    assert quoted("\x7f\u202e") == '"\\U0000007F\\U0000202E"'
