"""A batch of text rows against a table's model: typed rows, and every fault of every bad row."""

from __future__ import annotations

import json

import polars as pl

from house_builder import good
from stillroom.house.model import SourceSettings
from stillroom.intake.checking import Checked, Wording, check
from stillroom.intake.moments import Clock
from stillroom.intake.shaping import Layout
from stillroom.objects import Malformed, TextBatch
from stillroom_schemas import TABLES
from stillroom_schemas.table import Table

TABLE = {table.name: table for table in TABLES}
SALE = TABLE["sale"]


def checked(
    *rows: dict[str, object],
    table: Table = SALE,
    fills: dict[str, object] | None = None,
    tax_pct: float | None = None,
    venues: tuple[str, ...] = (),
    **more: object,
) -> Checked:
    """Rows (till lines, mostly) on every tenth row of a file, from row 10."""
    frame = pl.DataFrame(rows, infer_schema_length=None)
    numbers = pl.Series([10 * place for place in range(1, len(rows) + 1)])
    wording = Wording(
        table=table,
        layout=Layout(headings={name: (name,) for name in frame.columns}, constants={}, unused=()),
        settings=SourceSettings(name="till", plugin="till-export", tax_pct=tax_pct),
        fills=fills or {},
        clock=Clock(date_format=None, house_zone="UTC", file_zone=None),
        venues=venues,
    )
    return check(TextBatch(rows=frame, row_numbers=numbers, **more), wording, table.schema())  # type: ignore[arg-type]


def faults(found: Checked) -> list[tuple[object, ...]]:
    return sorted(found.problems.select("row_number", "column", "problem", "value").rows(), key=str)


def test_good_rows_are_typed_and_keep_their_numbers():
    found = checked(good("sale"), good("sale", quantity="zero"), good("sale", quantity="2", net_amount="18"))
    assert found.good["row_number"].to_list() == [10, 30]
    assert found.good["quantity"].to_list() == [1, 2]
    assert (found.rows_read, found.rows_bad, found.passed_over) == (3, 1, 0)


def test_every_fault_of_a_row_is_told_once_and_the_row_counts_once():
    found = checked(good("sale", sold_at="soon", till_item=" ", quantity="0", net_amount="inf"))
    assert faults(found) == [
        (10, "net_amount", "cannot be read as a number (write 1234.5)", "inf"),
        (10, "quantity", "must not be 0", "0"),
        (10, "sold_at", "cannot be read as a date with a time of day (written like 2026-03-31 21:05)", "soon"),
        (10, "till_item", "is missing", None),
    ]
    assert (found.good.height, found.rows_bad) == (0, 1)


def test_a_fault_between_two_columns_names_one_of_them():
    assert faults(checked(good("sale", net_amount="-9"))) == [
        (10, "net_amount", "has another sign than quantity", "-9")
    ]


def test_an_unreadable_cell_is_not_told_as_missing_too():
    count = good("batch_event", event="counted", unit="ml")
    found = checked(count | {"amount": "half"}, count | {"amount": ""}, table=TABLE["batch_event"])
    assert faults(found) == [
        (10, "amount", "cannot be read as a number (write 1234.5)", "half"),
        (20, "amount", "is missing: a count needs the amount left", None),
    ]


def test_a_bad_row_is_kept_whole_under_the_files_headings():
    row = good("sale", quantity="0")
    assert [json.loads(text) for text in checked(row).problems["row"]] == [row]


def test_an_empty_cell_is_filled_and_an_unreadable_one_is_not():
    empty, unreadable = good("sale", quantity=""), good("sale", quantity="one")
    found = checked(empty, unreadable, fills={"quantity": 1})
    assert found.good["quantity"].to_list() == [1]
    assert faults(found) == [(20, "quantity", "cannot be read as a number (write 1234.5)", "one")]


def test_where_there_are_several_venues_a_sale_names_one_of_them():
    here, nowhere, elsewhere = (good("sale", venue=venue) for venue in ("terrace", "", "Quay"))
    found = checked(here, nowhere, elsewhere, venues=("Front bar", "Terrace"))
    assert found.good["venue"].to_list() == ["Terrace"]
    assert [(number, column, said.split(":")[0], value) for number, column, said, value in faults(found)] == [
        (20, "venue", "is missing", None),
        (30, "venue", "is none of the venues that stillroom.toml names", "Quay"),
    ]


def test_a_batch_may_be_the_whole_houses_but_not_one_of_no_venue():
    whole, elsewhere = good("batch", venue=""), good("batch", venue="Quay")
    found = checked(whole, elsewhere, table=TABLE["batch"], venues=("Front bar", "Terrace"))
    assert found.good["venue"].to_list() == [None]
    assert [number for number, *_ in faults(found)] == [20]


def test_a_column_that_the_file_does_not_have_is_empty():
    assert checked(good("sale"), fills={"venue": "Terrace"}).good["venue"].to_list() == ["Terrace"]
    assert checked(good("sale")).good["check_id"].to_list() == [None]


def test_words_of_a_list_and_percentages_are_read_as_people_write_them():
    found = checked(good("batch_event", event="Used Up"), table=TABLE["batch_event"])
    assert found.good["event"].to_list() == ["used up"]
    found = checked(
        good("ingredient", abv_pct="40 %", pack_unit="ML"), table=TABLE["ingredient"], fills={"usable_pct": 100}
    )
    assert found.good.select("abv_pct", "pack_unit").rows() == [(40, "ml")]
    [fault] = faults(checked(good("batch_event", event="eaten"), table=TABLE["batch_event"]))
    assert fault == (10, "event", "is not one of: used up, poured away, spoiled, counted", "eaten")


def test_tax_is_taken_out_of_the_net_amount():
    found = checked(good("sale", net_amount="12"), good("sale", quantity="-1", net_amount="-10"), tax_pct=20)
    assert [float(amount) for amount in found.good["net_amount"]] == [10, -8.3333]


def test_malformed_rows_are_bad_rows_with_their_cells_as_far_as_they_go():
    short = Malformed(row_number=20, problem="the row has 2 cells where the headings are 4", cells=("soon", "Fig Sour"))
    long = Malformed(row_number=30, problem="the row has 5 cells where the headings are 4", cells=tuple("abcde"))
    found = checked(good("sale"), malformed=(short, long), passed_over=2)
    assert (found.rows_read, found.good.height, found.rows_bad, found.passed_over) == (5, 1, 2, 2)
    assert faults(found) == [(20, None, short.problem, None), (30, None, long.problem, None)]
    shorter, longer = (json.loads(text) for text in found.problems["row"])
    assert shorter == {"sold_at": "soon", "till_item": "Fig Sour", "quantity": "", "net_amount": ""}
    assert [*longer.items()][3:] == [("net_amount", "d"), ("(beyond the headings 1)", "e")]
