"""What looking at a file promises is what intake does by the settings that looking wrote; and what it recognises."""

from __future__ import annotations

import gzip
import io
from dataclasses import replace
from datetime import datetime
from pathlib import Path

import polars as pl
import pytest
import xlsxwriter

from house_builder import HOUSE, SOURCES, ask, csv_text, good, make_house, plugins, put, take_in
from invented_books import BOOKS
from stillroom.errors import FileRefused, SettingsError, UsageError
from stillroom.house.house import House
from stillroom.house.settings import load_house
from stillroom.looking.card import card_text
from stillroom.looking.look import look
from stillroom.looking.rehearsal import SHOWN_ROWS
from stillroom.looking.seen import Look
from stillroom.looking.settling import write_settings
from stillroom.naming import with_sheet
from stillroom.objects import Source, SourceFile, TextBatch
from stillroom.store import opening
from stillroom_schemas import TABLES
from written import as_json_lines, as_parquet, as_xlsx

pytestmark = pytest.mark.usefixtures("rows_alone")

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
FILES: dict[str, tuple[str, str | bytes, tuple[int, int]]] = {
    "clean": ("till/clean.csv", CLEAN, (20, 0)),
    "semicolons, decimal commas, cp1252, a title, a total": ("till/march.csv", MESSY, (15, 1)),
    "day or month first": ("till/april.csv", AMBIGUOUS, (0, 8)),
    "a column a panelist": ("sheets/wide.csv", WIDE, (7, 3)),
    "a workbook": ("till/2026 lines.xlsx", as_xlsx(TYPED), (8, 0)),
    "totals": ("totals.csv", TOTALS, (8, 8)),
    "gzip": ("till/clean.csv.gz", gzip.compress(CLEAN.encode()), (20, 0)),
    "Parquet": ("till/lines.parquet", as_parquet(TYPED), (8, 0)),
    "JSON lines": ("till/lines.jsonl", as_json_lines(TYPED), (8, 0)),
    "UTF-16": ("till/wide letters.csv", MESSY.decode("cp1252").encode("utf-16"), (15, 1)),
    "UTF-16 without its mark": ("till/wide.csv", MESSY.decode("cp1252").encode("utf-16-le"), (15, 1)),
    "UTF-16 of the other order": ("till/wider.csv", MESSY.decode("cp1252").encode("utf-16-be"), (15, 1)),
    "a key twice": ("batches [new].csv", BATCHES, (1, 1)),
    "headings alone": ("blank.csv", CLEAN.splitlines()[0] + "\n", (0, 0)),
}
"""Kind -> the file's name, what it holds, and how many rows land and are set aside."""


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
    names = (seen.file, with_sheet(seen.file, seen.recognised.sheet or ""))
    outcome = next(o for o in take_in(house) if o.file in names)
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
    name, content, rows = FILES[kind]
    house = make_house(tmp_path, HOUSE)
    seen = looked(house, put(tmp_path, name, content))
    assert seen.rehearsal is not None
    assert (seen.rehearsal.outcome.rows_landed, seen.rehearsal.outcome.rows_set_aside) == rows
    write_settings(house, plugins(), seen)
    house = load_house(tmp_path, plugins())
    assert_kept(house, seen)
    again = looked(house, tmp_path / name)
    assert again.there_already
    assert again.settings_text is None
    assert again.rehearsal == replace(seen.rehearsal, outcome=again.rehearsal.outcome)


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
    write_settings(house, plugins(), seen)
    settings = tmp_path / "stillroom.toml"
    answer = 'date_format = "%m/%d/%Y %I:%M %p"'
    settings.write_text(settings.read_text().replace(f"# {answer}", answer))
    house = load_house(tmp_path, plugins())
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
    assert (seen.source, seen.before) == ("sale 2", "sale")
    write_settings(house, plugins(), seen)
    assert_kept(load_house(tmp_path, plugins()), seen)


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
    write_settings(house, plugins(), seen)
    [outcome] = take_in(load_house(house.folder, plugins()), path, source="till")
    assert (outcome.rows_landed, outcome.rows_set_aside) == (15, 1)


def test_what_is_missing_is_said_and_nothing_written(tmp_path: Path) -> None:
    house = make_house(tmp_path, HOUSE)
    seen = looked(
        house, put(tmp_path, "sheet.csv", "Tasted,Panelist,Drink,Version,Attribute\n2026-03-02,Ana,Fig,1,body\n")
    )
    assert seen.table == "tasting"
    assert seen.missing == ("score",)
    assert seen.columns["session"] == seen.columns["tasted_on"], "a sitting that has no name goes by its day"
    assert seen.exit_code == 1
    assert '# score = "..."' in (seen.settings_text or "")
    with pytest.raises(SettingsError, match="nothing was written: no heading fits score"):
        write_settings(house, plugins(), seen)


def test_while_a_column_is_missing_dates_and_numbers_are_looked_at_all_the_same(tmp_path: Path) -> None:
    house = make_house(tmp_path, HOUSE)
    rows = 'Closed,Article,Net\n28/03/2026 20:00,Fig Sour,"9,5"\n29/03/2026 21:00,Fig Sour,"8,25"\n'
    seen = looked(house, put(tmp_path, "t.csv", rows))
    assert seen.missing == ("quantity",)
    assert (seen.date_format, seen.decimal) == ("%d/%m/%Y %H:%M", ",")
    assert 'date_format = "%d/%m/%Y %H:%M"' in (seen.settings_text or "")
    assert '# quantity = "..."' in (seen.settings_text or "")
    open_to_both = looked(house, put(tmp_path, "u.csv", "Closed,Article,Net\n05/03/2026 20:00,Fig Sour,9\n"))
    assert "may be" in open_to_both.questions[0].text


def test_of_a_moment_that_is_missing_it_is_not_asked_how_it_is_written(tmp_path: Path) -> None:
    house = make_house(tmp_path, HOUSE)
    seen = looked(house, put(tmp_path, "t.csv", "Article,Qty,Net\nFig Sour,1,9\n"))
    assert seen.missing == ("sold_at",)
    assert (seen.date_format, [one.key for one in seen.questions], seen.notes) == (None, ["sold_at"], ())


def test_a_likely_word_is_no_suggestion_for_cells_that_do_not_fit(tmp_path: Path) -> None:
    house = make_house(tmp_path, HOUSE)
    rows = (
        "sold_at,till_item,quantity,Net,Amount\n2026-03-02 20:00,Fig Sour,1,yes,9\n2026-03-02 21:00,Fig Sour,1,no,9\n"
    )
    seen = looked(house, put(tmp_path, "t.csv", rows))
    assert seen.columns["net_amount"] == ("Amount",)
    assert seen.suggested == {"net_amount"}
    assert seen.unused == ("Net",)


def test_a_tills_plain_words_are_those_of_a_till(tmp_path: Path) -> None:
    rows = "Receipt;When;What;Pcs;Amount ex tax\n1001;2026-03-02 20:15;Fig Sour;2;19.00\n"
    seen = looked(make_house(tmp_path, HOUSE), put(tmp_path, "t.csv", rows))
    assert seen.table == "sale"
    assert {column: heading for column, (heading,) in seen.columns.items()} == {
        "sold_at": "When",
        "till_item": "What",
        "quantity": "Pcs",
        "net_amount": "Amount ex tax",
        "check_id": "Receipt",
    }


@pytest.mark.parametrize("name", ["a=b.csv", 'the "big" one.csv', "back\\slash.csv", "bell\a.csv", "[a]*.csv"])
def test_any_name_of_a_file_can_be_written_down(tmp_path: Path, name: str) -> None:
    house = make_house(tmp_path, HOUSE)
    seen = looked(house, put(tmp_path, name, CLEAN))
    write_settings(house, plugins(), seen)
    assert_kept(load_house(tmp_path, plugins()), seen)


def test_a_name_that_settings_cannot_hold(tmp_path: Path) -> None:
    house = make_house(tmp_path, HOUSE)
    seen = looked(house, put(tmp_path, " t.csv ", CLEAN))
    with pytest.raises(SettingsError, match="Rename it"):
        write_settings(house, plugins(), seen)
    assert (tmp_path / "stillroom.toml").read_text() == HOUSE


def test_a_file_of_corrections_needs_no_settings(tmp_path: Path) -> None:
    house = make_house(tmp_path, HOUSE)
    path = put(tmp_path, "aside.csv", "set aside from,edition,set aside row,till_item\na.csv,x,2,Fig\n")
    with pytest.raises(FileRefused, match="needs no settings"):
        looked(house, path)


def test_one_bad_byte_does_not_make_a_file_another_encoding(tmp_path: Path) -> None:
    house = make_house(tmp_path, HOUSE)
    rows = [good("sale", till_item=name) for name in ("Crème", "Ærø", "Fig\N{EM DASH}", "Plum")]
    content = csv_text(rows).encode().replace("\N{EM DASH}".encode(), b"\x97")
    with pytest.raises(FileRefused, match=r"row 4 is not UTF-8 \(byte 0x97\)"):
        looked(house, put(tmp_path, "t.csv", content))


def test_bytes_of_no_known_encoding(tmp_path: Path) -> None:
    house = make_house(tmp_path, HOUSE)
    with pytest.raises(FileRefused, match="no encoding that can be told"):
        looked(house, put(tmp_path, "t.csv", CLEAN.encode() + b"\x81\x8d\xff\n"))


def test_a_summary_with_the_same_headings_is_not_taken_for_the_table(tmp_path: Path) -> None:
    text = "Closed,Article,Qty,Net\nClosed;Article;Qty;Net;Product\n2026-03-02 20:00;Fig;1;9;x\n"
    house = make_house(tmp_path, HOUSE)
    seen = looked(house, put(tmp_path, "t.csv", text))
    assert (seen.recognised.separator, seen.recognised.heading_row) == (";", 2)
    assert 'separator = ";"' in (seen.settings_text or "")
    write_settings(house, plugins(), seen)
    assert_kept(load_house(tmp_path, plugins()), seen)

    out = io.BytesIO()
    with xlsxwriter.Workbook(out) as book:
        for name, headings in (("Sums", ["Prep", "Made"]), ("Log", ["Prep", "Made", "Recipe"])):
            sheet = book.add_worksheet(name)
            sheet.write_row(0, 0, ["Label", "Volume", "Unit", *headings])
            sheet.write_row(1, 0, [name, 650, "ml", "Fig Cordial", "2026-03-02", "x"][: 3 + len(headings)])
    (tmp_path / "stillroom.toml").write_text(HOUSE)
    seen = looked(house, put(tmp_path, "b.xlsx", out.getvalue()))
    assert (seen.recognised.sheet, seen.recognised.sheets) == ("Log", 2)
    assert 'sheet = "Log"' in (seen.settings_text or "")
    write_settings(house, plugins(), seen)
    assert_kept(load_house(tmp_path, plugins()), seen)


@pytest.mark.parametrize(("answer", "amount"), [('decimal = ","', 12500), ('decimal = "."', 12.5)])
def test_a_dot_that_may_part_thousands_is_asked_about(tmp_path: Path, answer: str, amount: float) -> None:
    house = make_house(tmp_path, HOUSE)
    path = put(tmp_path, "t.csv", csv_text([good("sale", net_amount="$12.500")]))
    seen = looked(house, path)
    assert [question.text for question in seen.questions] == ["the dot of '$12.500' may part"]
    write_settings(house, plugins(), seen)
    text = (tmp_path / "stillroom.toml").read_text()
    (tmp_path / "stillroom.toml").write_text(text.replace(f"# {answer}", answer))
    house = load_house(tmp_path, plugins())
    seen = looked(house, path)
    assert (seen.questions, seen.there_already) == ((), True)
    take_in(house)
    assert [float(cell) for [cell] in ask(house, "SELECT net_amount FROM current_sale")] == [amount]
    typed = put(
        tmp_path, "t.jsonl", '{"sold_at": "2026-03-02 20:00", "till_item": "x", "quantity": 1, "net_amount": 1.125}'
    )
    assert looked(house, typed).questions == ()


def test_what_else_to_think_of(tmp_path: Path) -> None:
    house = make_house(tmp_path, HOUSE + 'venues = ["Bar", "Terrace"]\n')
    rows = "Closed,Article,Qty,Net\n2026-03-02 20:00,Crème,1,9\n".encode("cp1252")
    notes = looked(house, put(tmp_path, "t.csv", rows)).notes
    assert [note.partition(":")[0] for note in notes] == [
        "The house has several venues, and the file does not say which",
        "It is not UTF-8, and was read as cp1252",
    ]
    [note] = looked(house, put(tmp_path, "e.csv", csv_text([good("batch_event")]))).notes
    assert note == "Whether each row has its partner in the table batch, only intake can tell."


@pytest.mark.parametrize(
    ("headings", "cells", "note"),
    [
        ("Closed,Article,Qty,Unit price", "2026-03-02 20:00,Fig,1,9", "'Unit price' may be the price of one"),
        ("Closed (UTC),Article,Qty,Net", "2026-03-02 20:00,Fig,1,9", "'Closed (UTC)' may be on another clock"),
        ("Date,Article,Qty,Net", "2. kevätkuuta 2026 20:00,Fig,1,9", "'2. kevätkuuta 2026 20:00' is written in no way"),
    ],
)
def test_headings_and_cells_that_say_something_else(tmp_path: Path, headings: str, cells: str, note: str) -> None:
    house = make_house(tmp_path, HOUSE + 'time_zone = "Europe/Lisbon"\n')
    [said] = looked(house, put(tmp_path, "t.csv", f"{headings}\n{cells}\n")).notes
    assert said.startswith(note)


@pytest.mark.parametrize("heading", ["Gross", "Total TTC", "Umsatz brutto", "Importe con IVA"])
def test_money_with_tax_inside_waits_for_the_tax(tmp_path: Path, heading: str) -> None:
    house = make_house(tmp_path, HOUSE)
    path = put(tmp_path, "t.csv", f"Closed,Article,Qty,{heading}\n2026-03-02 20:00,Fig,1,12\n")
    seen = looked(house, path, plugin="till-export")
    assert [question.key for question in seen.questions] == ["tax_pct"]
    assert seen.missing == ("net_amount",)
    seen = look(house, plugins(), path, plugin="till-export", answers={"tax_pct": "20"})
    assert seen.rehearsal is not None
    assert [float(row["net_amount"]) for row in seen.rehearsal.first_rows] == [10]


def test_of_a_column_that_is_missing_the_heading_is_named_whose_cells_do_not_fit(tmp_path: Path) -> None:
    house = make_house(tmp_path, HOUSE)
    seen = looked(house, put(tmp_path, "t.csv", "Closed,Article,Qty,Net\n2026-03-02 20:00,Fig,2 x,9\n"))
    assert seen.missing == ("quantity",)
    assert seen.unfit == {"quantity": "'Qty' by its name, but not by its cells, such as '2 x'"}
    assert "quantity may be 'Qty' by its name" in card_text(seen)


def test_a_workbook_whose_dates_are_part_text_and_one_with_a_sheet_each(tmp_path: Path) -> None:
    house = make_house(tmp_path, HOUSE)
    out = io.BytesIO()
    with xlsxwriter.Workbook(out) as book:
        for name in ("Bar", "Terrace"):
            sheet = book.add_worksheet(name)
            sheet.write_row(0, 0, ["Closed", "Article", "Qty", "Net"])
            sheet.write_datetime(1, 0, datetime(2026, 2, 3, 20), book.add_format({"num_format": "dd/mm/yyyy hh:mm"}))
            sheet.write_row(1, 1, ["Fig", 1, 9])
            sheet.write_row(2, 0, ["13/03/2026 20:00", "Fig", 1, 9])
    seen = looked(house, put(tmp_path, "t.xlsx", out.getvalue()))
    assert [note.partition(",")[0] for note in seen.notes] == ["Some dates are the workbook's own", "Read alike"]
    assert 'sheet = "*"' in (seen.settings_text or "")
    write_settings(house, plugins(), seen)
    assert_kept(load_house(tmp_path, plugins()), seen)


def test_a_plugin_that_reads_a_kind_of_its_own(tmp_path: Path) -> None:
    rows = pl.DataFrame({name: [str(cell)] for name, cell in good("sale").items()})
    own = Source(
        name="own",
        title="pictures of the till",
        tables=("sale",),
        headings=lambda file: rows.columns,
        read=lambda file: iter([TextBatch(rows=rows, row_numbers=pl.Series([2]))]),
    )
    house = make_house(tmp_path, HOUSE + '[[source]]\nname = "p"\nplugin = "own"\nfiles = ["*.png"]\n')
    registry = replace(plugins(), sources={**plugins().sources, "own": own})
    seen = look(house, registry, put(tmp_path, "t.png", b"\x89PNG"))
    assert (seen.recognised.kind, seen.there_already, seen.exit_code) == ("what plugin 'own' reads", True, 0)


@pytest.mark.parametrize("content", [b"\x89PNG", b"Sold at ten: one Fig Sour, nine euros\n"])
def test_a_plugins_own_reader_is_asked_where_ours_does_not_know_the_file(tmp_path: Path, content: bytes) -> None:
    rows = pl.DataFrame({name: [str(cell)] for name, cell in good("sale").items()})

    def headings(file: SourceFile) -> list[str]:
        if file.path.suffix != ".own":
            raise ValueError("none of mine")
        return rows.columns

    own = Source(
        name="own",
        title="what the till says",
        tables=("sale",),
        headings=headings,
        read=lambda file: iter([TextBatch(rows=rows, row_numbers=pl.Series([2]))]),
    )
    house = make_house(tmp_path, HOUSE)
    registry = replace(plugins(), sources={**plugins().sources, "own": own})
    for asked in (None, "own"):
        seen = look(house, registry, put(tmp_path, "t.own", content), plugin=asked)
        assert (seen.recognised.kind, seen.plugin, seen.exit_code) == ("what plugin 'own' reads", "own", 0)
    with pytest.raises(FileRefused, match=r"t\.png"):
        look(house, registry, put(tmp_path, "t.png", content))


def test_a_query_is_no_file(tmp_path: Path) -> None:
    house = make_house(
        tmp_path, HOUSE + '[[source]]\nname = "q"\nplugin = "till-export"\ndatabase = "D"\nquery = "S"\n'
    )
    with pytest.raises(UsageError, match="Source 'q' reads a database and no file"):
        looked(house, put(tmp_path, "t.csv", CLEAN), source="q")


def test_months_in_another_language_are_read_and_need_no_answer(tmp_path: Path) -> None:
    house = make_house(tmp_path, HOUSE)
    rows = "".join(f"{n} de fevereiro de 2026 21:05,Fig,1,9\n" for n in range(1, 9))
    seen = looked(house, put(tmp_path, "t.csv", "Date,Article,Qty,Net\n" + rows))
    assert (seen.date_format, seen.questions, seen.exit_code) == ("%d de %B de %Y %H:%M", (), 0)
    write_settings(house, plugins(), seen)
    assert_kept(load_house(tmp_path, plugins()), seen)
    assert ask(house, "SELECT min(sold_at) FROM current_sale") == [(datetime(2026, 2, 1, 21, 5),)]


KINDS_UNTOLD = {
    "a sheet a drink, German, with method and a title": "spec_line",
    "a grid of drinks and ingredients, Portuguese": "spec_line",
    "a grid of days and preparations, Czech": "batch",
    "attributes down, panelists across, a sheet a session": "tasting",
    "panelists down, attributes across, versions in blocks, date above, German": "tasting",
    "tasting sheet name date german title drink": "tasting",
    "pack and price, German, cp1252": "ingredient",
    "a till's export, Polish, month names": "sale",
}


@pytest.mark.parametrize("name", KINDS_UNTOLD)
def test_which_table_a_book_fills_is_found_without_being_told(tmp_path: Path, name: str) -> None:
    book = next(one for one in BOOKS if one.name == name)
    house = make_house(tmp_path, HOUSE)
    assert look(house, plugins(), book.write(tmp_path)).table == KINDS_UNTOLD[name]


def test_a_word_that_a_column_may_hold_is_no_heading(tmp_path: Path) -> None:
    house = make_house(tmp_path, HOUSE)
    path = put(tmp_path, "s.csv", "Drink,Ingredient,Amount\nFig Sour,gin,45 ml\n,lemon,2 cl\n")
    seen = look(house, plugins(), path, table="spec", answers={"kind": "drink"})
    assert seen.rehearsal is not None
    assert [(row["spec"], row["kind"]) for row in seen.rehearsal.first_rows] == [("Fig Sour", "drink")]


@pytest.mark.parametrize("days", [("4/3/2026", "23/3/2026"), ("2026-03-04 00:00:00", "2026-03-23 00:00:00")])
def test_what_was_sold_in_a_day_is_of_that_business_day(tmp_path: Path, days: tuple[str, str]) -> None:
    house = make_house(tmp_path, HOUSE)
    rows = [f"{day},Mix,2,{net}\n" for day, net in zip(days, ("20.00", "24.00"), strict=True)]
    path = put(tmp_path, "mix.csv", "Date,Item,Quantity,Net\n" + "".join(rows))
    seen = look(house, plugins(), path)
    assert any("whole business day" in note for note in seen.notes)
    write_settings(house, plugins(), seen)
    house = load_house(tmp_path, plugins())
    (outcome,) = take_in(house, path)
    assert (outcome.rows_landed, outcome.rows_set_aside) == (2, 0)
    found = ask(house, "SELECT sold_at, net_amount FROM current_sale ORDER BY 1")
    assert found == [(datetime(2026, 3, 4, 6), 20), (datetime(2026, 3, 23, 6), 24)]  # as the day starts
    path.write_text(path.read_text() + "24/3/2026 20:15,Mix,1,10.00\n")
    (outcome,) = take_in(house, path)
    assert (outcome.rows_landed, outcome.rows_set_aside) == (2, 1)  # a sale with a time is none of a whole day


def test_days_beside_a_column_of_times_are_no_whole_days(tmp_path: Path) -> None:
    house = make_house(tmp_path, HOUSE)
    text = "Date,Opened,Closed,Item,Quantity,Net\n4/3/2026,20:05,20:40,Mix,2,20.00\n23/3/2026,0:10,1:15,Mix,2,20.00\n"
    seen = look(house, plugins(), put(tmp_path, "lines.csv", text))
    assert "dates_are" not in seen.settings_text
