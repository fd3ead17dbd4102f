"""From a file's rows to a table's columns: lines that are no rows, wide files, joined headings, constants."""

from __future__ import annotations

from pathlib import Path

import polars as pl
import pytest

from stillroom.errors import FileRefused
from stillroom.house.model import SourceSettings, Wide
from stillroom.intake.shaping import Layout, column_texts, constants, shaped
from stillroom.objects import Malformed, SourceFile, TextBatch

HEADINGS = ("Day", "Article", "Count")
PLAIN = Layout(
    headings={"sold_at": ("Day",), "till_item": ("Article",), "quantity": ("Count",)}, constants={}, unused=()
)


def settings(**more: object) -> SourceSettings:
    return SourceSettings(name="till", plugin="till-export", **more)  # type: ignore[arg-type]


def batch(*rows: tuple[str | None, ...], headings: tuple[str, ...] = HEADINGS, **more: object) -> TextBatch:
    """Rows of a file whose heading is row 1."""
    frame = pl.DataFrame(rows, schema=dict.fromkeys(headings, pl.String), orient="row")
    return TextBatch(rows=frame, row_numbers=pl.Series(range(2, len(rows) + 2)), **more)  # type: ignore[arg-type]


def numbers(found: TextBatch) -> tuple[list[int], int]:
    """Numbers of the rows that are left, and how many were passed over."""
    return found.row_numbers.to_list(), found.passed_over


@pytest.mark.parametrize(
    "line",
    [
        ("Total", None, "12"), ("TOTAL EUR", "", "12"), ("Subtotal Bar", None, "3"), ("sum", None, "12"),
        (" Grand total ", None, "12"), (None, "Total", "12"), ("Total", None, None),
    ],
)  # fmt: skip
def test_a_line_of_totals_is_passed_over(line):
    found = shaped(batch(("1 May", "Fig Sour", "1"), line, ("2 May", "Fig Sour", "2")), PLAIN, settings())
    assert numbers(found) == ([2, 4], 1)


@pytest.mark.parametrize(
    "line", [("1 May", "Total Eclipse", "1"), ("Totally", None, "1"), ("Summer", None, "1"), ("Total", "All", "12")]
)
def test_a_row_that_only_looks_like_totals_stays(line):
    assert numbers(shaped(batch(line), PLAIN, settings())) == ([2], 0)


@pytest.mark.parametrize("item", ["TOTAL", "Subtotal", " total: ", "Grand Total"])
def test_a_days_total_among_till_lines_is_passed_over(item):
    found = shaped(batch(("1 May", "Fig Sour", "1"), ("1 May", item, "1")), PLAIN, settings())
    assert numbers(found) == ([2], 1)


def test_a_line_of_one_cell_is_passed_over_where_the_settings_say_how_it_begins():
    page = Malformed(row_number=9, problem="1 cell", cells=("Page 1 of 3",))
    total = Malformed(row_number=10, problem="a quote that never closes", cells=('Total "Fig',))
    found = shaped(batch(malformed=(page, total)), PLAIN, settings(totals=("Page",)))
    assert (found.malformed, found.passed_over) == ((total,), 1)


def test_the_settings_add_words_for_totals():
    assert numbers(shaped(batch(("Summe", None, "12")), PLAIN, settings())) == ([], 1)
    line = ("Endbetrag", None, "12")
    assert numbers(shaped(batch(line), PLAIN, settings())) == ([2], 0)
    assert numbers(shaped(batch(line), PLAIN, settings(totals=("endbetrag",)))) == ([], 1)


def test_a_line_of_totals_that_is_too_short_to_be_a_row_is_passed_over():
    short = (Malformed(row_number=9, problem="2 cells", cells=("Total", "12")),)
    other = (Malformed(row_number=8, problem="2 cells", cells=("1 May", "12")),)
    found = shaped(batch(("1 May", "Fig Sour", "1"), malformed=other + short), PLAIN, settings())
    assert (found.malformed, found.passed_over) == (other, 1)


def test_headings_repeated_on_every_page_are_passed_over():
    found = shaped(batch(("1 May", "Fig Sour", "1"), HEADINGS, ("Day", "Fig Sour", "2")), PLAIN, settings())
    assert numbers(found) == ([2, 4], 1)


def test_what_was_passed_over_before_still_counts():
    assert numbers(shaped(batch(("Total", None, "1"), passed_over=3), PLAIN, settings())) == ([], 4)


def test_a_wide_file_gives_a_row_for_every_filled_cell():
    wide = settings(wide=Wide(headings_are="panelist", cells_are="score"))
    layout = Layout(
        headings={"attribute": ("attribute",), "panelist": ("panelist",), "score": ("score",)},
        constants={},
        unused=("P1", "P2", "(column 4)"),
    )
    rows = batch(
        ("liking", "7", None, "x"), ("aroma", " ", "0", None), headings=("attribute", "P1", "P2", "(column 4)")
    )
    found = shaped(rows, layout, wide)
    assert found.rows.select("attribute", "panelist", "score").rows() == [("liking", "P1", "7"), ("aroma", "P2", "0")]
    assert numbers(found) == ([2, 3], 2)


def test_averages_and_remarks_beside_the_people_of_a_wide_file_are_no_people():
    wide = settings(wide=Wide(headings_are="panelist", cells_are="score"))
    headings = ("attribute", "Ana", "Average", "Comments", "Hop")
    layout = Layout(
        headings={"attribute": ("attribute",), "panelist": ("panelist",), "score": ("score",)},
        constants={},
        unused=headings[1:],
    )
    rows = batch(("liking", "7", "6,5", "too sharp", "6"), headings=headings)
    found = shaped(rows, layout, wide)
    assert found.rows.select("panelist", "score").rows() == [("Ana", "7"), ("Hop", "6")]
    assert found.passed_over == 2


def test_totals_of_a_wide_file_are_passed_over_in_lines_and_in_columns():
    wide = settings(wide=Wide(headings_are="sold_at", cells_are="quantity"))
    layout = Layout(
        headings={"till_item": ("item",), "sold_at": ("sold_at",), "quantity": ("quantity",)},
        constants={},
        unused=("2026-05-01", "Total"),
    )
    rows = batch(("Fig Sour", "7", "7"), ("Total:", "7", "7"), headings=("item", "2026-05-01", "Total"))
    found = shaped(rows, layout, wide)
    assert found.rows.select("item", "sold_at", "quantity").rows() == [("Fig Sour", "2026-05-01", "7")]
    assert numbers(found) == ([2], 2)  # a line, and a cell of the other


def test_cells_under_several_headings_are_joined():
    layout = Layout(headings={"sold_at": ("Day", "Time")}, constants={}, unused=())
    rows = batch((" 2026-05-01", "21:05 "), ("2026-05-02", None), headings=("Day", "Time")).rows
    assert column_texts(rows, layout, settings())["sold_at"].to_list() == ["2026-05-01 21:05", "2026-05-02"]


def test_a_constant_is_what_every_row_says():
    layout = Layout(headings={}, constants={"venue": "Terrace"}, unused=())
    rows = batch(("1 May", "Fig Sour", "1"), ("2 May", "Fig Sour", "1")).rows
    assert column_texts(rows, layout, settings())["venue"].to_list() == ["Terrace", "Terrace"]


def test_a_name_ends_where_the_modifiers_begin():
    cells = ("Fig Sour (no ice)", "Fig Sour + double + salt", "Fig Sour", "Fig+Sour")
    rows = batch(*(("1 May", cell, "1") for cell in cells)).rows
    names = column_texts(rows, PLAIN, settings(names_end_at=(" (", " +")))["till_item"].to_list()
    assert names == ["Fig Sour", "Fig Sour", "Fig Sour", "Fig+Sour"]


@pytest.mark.parametrize(
    ("pattern", "name", "venue"),
    [
        ("sales-{venue}-", "sales-Front bar-2026.csv", "Front bar"),
        ("{venue}_", "Terrace_May_2026.csv", "Terrace"),
        ("sales-{venue}", "sales-Terrace.csv", "Terrace"),
        ("({venue})", "May (Terrace).xlsx", "Terrace"),
    ],
)
def test_the_venue_may_stand_in_the_files_name(pattern, name, venue):
    file = SourceFile(path=Path("till") / name, name=f"till/{name}")
    assert constants(settings(venue_in_name=pattern), file) == {"venue": venue}


def test_a_file_without_its_venue_is_refused():
    file = SourceFile(path=Path("till/may.csv"), name="till/may.csv")
    with pytest.raises(FileRefused, match=r"^till/may\.csv: its name holds no venue where venue_in_name = "):
        constants(settings(venue_in_name="sales-{venue}-"), file)
