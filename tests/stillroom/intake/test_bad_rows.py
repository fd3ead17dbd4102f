"""Every rule of every table: the bad row is set aside with its number, column, value and a reason in words."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from house_builder import GOOD, ask, current, good, make_house, put, reasons, take_in

pytestmark = pytest.mark.usefixtures("rows_alone")

UNITS = "is not one of: ml, cl, dl, l, fl oz"
DATE = "cannot be read as a date (written like 2026-03-31)"
MOMENT = "cannot be read as a date with a time of day (written like 2026-03-31 21:05)"
NUMBER = "cannot be read as a number (write 1234.5)"
WHOLE = "cannot be read as a whole number"
STORAGE = "is not one of: ambient, fridge, freezer"

RULES: dict[str, list[tuple[dict[str, str], str, str]]] = {
    "spec": [
        ({"spec": ""}, "spec", "is missing"),
        ({"version": ""}, "version", "is missing"),
        ({"version": "0"}, "version", "must not be below 1"),
        ({"version": "1.5"}, "version", WHOLE),
        ({"version": "two"}, "version", WHOLE),
        ({"kind": "food"}, "kind", "is not one of: drink, preparation, garnish"),
        ({"yield_amount": "0"}, "yield_amount", "must be above 0"),
        ({"yield_amount": "a lot"}, "yield_amount", NUMBER),
        ({"yield_unit": "glass"}, "yield_unit", UNITS),
        ({"keeps_days": "-1"}, "keeps_days", "must be above 0"),
        ({"storage": "shelf"}, "storage", STORAGE),
        ({"price": "-1"}, "price", "must not be below 0"),
        ({"in_service_from": "soon"}, "in_service_from", DATE),
        ({"in_service_from": "2026-02-30"}, "in_service_from", DATE),
        ({"in_service_from": "26-03-01"}, "in_service_from", DATE),
        ({"in_service_from": "2026-03-02", "in_service_until": "2026-03-01"}, "in_service_until",
         "is before in_service_from"),
        ({"spec": "Fig Sour", "version": "7"}, "version", "the same spec and version stand on row 2 already"),
    ],
    "spec_line": [
        ({"line": "0"}, "line", "must not be below 1"),
        ({"item": ""}, "item", "is missing"),
        ({"amount": "0"}, "amount", "must be above 0"),
        ({"amount": "-5"}, "amount", "must be above 0"),
        ({"amount": "nan"}, "amount", NUMBER),
        ({"amount": "inf"}, "amount", NUMBER),
        ({"amount": "-Infinity"}, "amount", NUMBER),
        ({"unit": "splash"}, "unit", UNITS),
        ({"spec": "Nobody's", "version": "3"}, "spec",
         "there is no spec Nobody's v3: take in the spec itself, or correct the name or version"),
    ],
    "ingredient": [
        ({"item": " "}, "item", "is missing"),
        ({"pack_amount": "0"}, "pack_amount", "must be above 0"),
        ({"pack_unit": "case"}, "pack_unit", UNITS),
        ({"pack_cost": "-2"}, "pack_cost", "must not be below 0"),
        ({"usable_pct": "101"}, "usable_pct", "must not be above 100"),
        ({"abv_pct": "140"}, "abv_pct", "must not be above 100"),
        ({"sugar_pct": "-1"}, "sugar_pct", "must not be below 0"),
        ({"acid_pct": "100.5"}, "acid_pct", "must not be above 100"),
        ({"density_g_ml": "0.4"}, "density_g_ml", "must not be below 0.5"),
        ({"density_g_ml": "3"}, "density_g_ml", "must not be above 2.5"),
        ({"priced_on": "1/3/2026"}, "priced_on", DATE),
    ],
    "till_match": [
        ({"till_item": ""}, "till_item", "is missing"),
        ({"spec": "?"}, "spec", "must not be ?"),
        ({"serves": "0"}, "serves", "must be above 0"),
        ({"till_item": "fig sr 7"}, "venue", "the same till_item and venue stand on row 2 already"),
    ],
    "sale": [
        ({"sold_at": ""}, "sold_at", "is missing"),
        ({"sold_at": "yesterday"}, "sold_at", MOMENT),
        ({"sold_at": "2026-03-02"}, "sold_at", MOMENT),
        ({"sold_at": "2026-03-02 25:00"}, "sold_at", MOMENT),
        ({"till_item": ""}, "till_item", "is missing"),
        ({"quantity": "0"}, "quantity", "must not be 0"),
        ({"quantity": "10001"}, "quantity", "must not be above 10000"),
        ({"quantity": "NaN"}, "quantity", NUMBER),
        ({"net_amount": "-9"}, "net_amount", "has another sign than quantity"),
        ({"net_amount": "9,00"}, "net_amount", NUMBER),
        ({"net_amount": ""}, "net_amount", "is missing"),
    ],
    "tasting": [
        ({"session": ""}, "session", "is missing"),
        ({"tasted_on": "spring"}, "tasted_on", DATE),
        ({"score": "10"}, "score", "is off the scale of the row (scale_low to scale_high)"),
        ({"score": "yes"}, "score", NUMBER),
        ({"score": "3", "scale_low": "5", "scale_high": "4"}, "scale_high", "is not above scale_low"),
        ({"scale_kind": "hedonic"}, "scale_kind", "is not one of: intensity, liking, just-about-right"),
        ({"position": "0"}, "position", "must not be below 1"),
        ({"replicate": "-1"}, "replicate", "must not be below 1"),
    ],
    "trial": [
        ({"method": "guessing"}, "method", "is not one of: triangle, duo-trio"),
        ({"correct": ""}, "correct", "is missing: a difference test needs yes or no"),
        ({"correct": "perhaps"}, "correct", "is not one of: yes, no"),
        ({"method": "paired-preference"}, "chosen", "is missing: a preference test needs a, b or none"),
        ({"version_b": "1"}, "version_b", "is the same as version_a"),
    ],
    "batch": [
        ({"batch": ""}, "batch", "is missing"),
        ({"made_on": "today"}, "made_on", DATE),
        ({"made_amount": "0"}, "made_amount", "must be above 0"),
        ({"made_unit": "jar"}, "made_unit", UNITS),
        ({"use_by": "2026-03-01"}, "use_by", "is before made_on"),
        ({"storage": "cellar"}, "storage", STORAGE),
        ({"brix": "101"}, "brix", "must not be above 100"),
        ({"ph": "15"}, "ph", "must not be above 14"),
        ({"batch": "fc-1 7"}, "batch", "the same batch stands on row 2 already"),
    ],
    "batch_event": [
        ({"event": "drunk"}, "event", "is not one of: used up, poured away, spoiled, counted"),
        ({"event": "counted"}, "amount", "is missing: a count needs the amount left"),
        ({"amount": "5"}, "unit", "is missing beside an amount"),
        ({"amount": "-5", "unit": "ml"}, "amount", "must not be below 0"),
        ({"batch": "XX"}, "batch", "there is no batch XX: take in the batch itself, or correct the label"),
        ({"happened_on": "2026-03-01"}, "happened_on", "is before made_on of its batch, 2026-03-02"),
    ],
}  # fmt: skip

UNIQUE = {
    "spec": "version", "spec_line": "line", "till_match": "till_item", "ingredient": "item", "batch": "batch",
}  # fmt: skip
"""The column in which otherwise equal good rows are told apart."""


def distinct(table: str, row: dict[str, object], place: int) -> dict[str, object]:
    """The row with a key of its own."""
    column = UNIQUE.get(table)
    if column is None:
        return row
    tail = str(place) if column in ("version", "line") else f"{row[column]} {place}"
    return {**row, column: tail}


@pytest.mark.parametrize("table", RULES)
def test_every_rule_has_its_reason(tmp_path: Path, table: str) -> None:
    partners = {
        "spec_line": {"spec": [good("spec", version=v) for v in range(1, 20)]},
        "batch_event": {"batch": [good("batch")]},
    }.get(table, {})
    rules = RULES[table]
    first = distinct(table, good(table), 7)
    rows = [first]
    for place, (change, _, said) in enumerate(rules, 10):
        row = good(table) if "the same" in said else distinct(table, good(table), place)
        rows.append({**row, **change})
    house = make_house(tmp_path)
    for name, content in {**partners, table: rows}.items():
        put(tmp_path, f"{name}/{name}.csv", content)
    [outcome] = [o for o in take_in(house) if o.table == table]
    assert (outcome.rows_read, outcome.rows_landed, outcome.rows_set_aside) == (len(rows), 1, len(rules))
    found = reasons(house)
    for number, (change, column, said) in enumerate(rules, 3):
        values = [value for n, where, problem, value in found if (n, where) == (number, column) and said in problem]
        assert len(values) == 1, (change, [one for one in found if one[0] == number])
        if "the same" not in said:
            assert values == [str(rows[number - 2].get(column, "")).strip() or None]


def test_several_reasons_of_one_row_are_all_told(tmp_path):
    row = good("sale", sold_at="soon", quantity="0", net_amount="nine")
    house = make_house(tmp_path)
    put(tmp_path, "sale/sale.csv", [good("sale"), row])
    take_in(house)
    assert reasons(house) == [
        (3, "net_amount", NUMBER, "nine"),
        (3, "quantity", "must not be 0", "0"),
        (3, "sold_at", MOMENT, "soon"),
    ]


def test_the_whole_row_is_kept_beside_its_reason(tmp_path):
    row = good("sale", quantity="0", server='Ann, "the" <b>')
    house = make_house(tmp_path)
    put(tmp_path, "sale/sale.csv", [row])
    take_in(house)
    [(file, text)] = ask(house, 'SELECT file, "row" FROM set_aside')
    assert (file, json.loads(text)) == ("sale/sale.csv", row)


def test_row_numbers_hold_beside_quoted_newlines_and_blank_lines(tmp_path):
    text = (
        "sold_at,till_item,quantity,net_amount\r\n"
        '2026-03-02 20:00,"Fig\r\nSour",1,9\r\n'
        "\r\n"
        "2026-03-02 20:01,Fig Sour,zero,9\r\n"
        "2026-03-02 20:02,Fig Sour,1\r\n"
        '2026-03-02 20:03,"Fig Sour,1,9\r\n'
        "2026-03-02 20:04,Fig Sour,1,9\r\n"
    )
    house = make_house(tmp_path, sale=b"\xef\xbb\xbf" + text.encode())
    [outcome] = take_in(house)
    assert (outcome.rows_landed, outcome.rows_set_aside, outcome.rows_passed_over) == (2, 3, 1)
    assert reasons(house) == [
        (4, "quantity", NUMBER, "zero"),
        (5, None, "the row has 3 cells where the headings are 4", None),
        (6, None, "the row has a quotation mark that never closes", None),
    ]
    assert current(house, "sale", "row_number", "till_item") == [(2, "Fig Sour"), (7, "Fig Sour")]


def test_names_are_trimmed_folded_and_composed(tmp_path):
    house = make_house(tmp_path)
    names = ["  Fig   Sour ", "Fig\tSour", "Cre\u0300me"]  # e + combining grave: composed to è (Unicode NFC)
    put(tmp_path, "sale/sale.csv", [good("sale", till_item=name) for name in names])
    take_in(house)
    assert current(house, "sale", "till_item") == [("Cr\u00e8me",), ("Fig Sour",), ("Fig Sour",)]


def test_empty_cells_mean_what_the_dictionary_says(tmp_path):
    house = make_house(tmp_path)
    put(tmp_path, "till_match/m.csv", [{"till_item": "BREAD", "spec": ""}])
    put(tmp_path, "tasting/t.csv", [good("tasting")])
    put(tmp_path, "ingredient/i.csv", [good("ingredient")])
    put(tmp_path, "sale/s.csv", [good("sale", venue="")])
    take_in(house)
    assert current(house, "till_match", "spec", "serves") == [(None, 1.0)]
    assert current(house, "tasting", "scale_low", "scale_high", "scale_kind") == [(1.0, 9.0, "intensity")]
    assert current(house, "ingredient", "usable_pct") == [(100.0,)]
    assert current(house, "sale", "venue") == [("The Test Room",)]


def test_an_unreadable_cell_is_no_empty_one(tmp_path):
    house = make_house(tmp_path)
    put(tmp_path, "till_match/m.csv", [{"till_item": "JUG", "spec": "Fig Sour", "serves": "four"}])
    [outcome] = take_in(house)
    assert (outcome.rows_landed, reasons(house)) == (0, [(2, "serves", NUMBER, "four")])


def test_numbers_beyond_what_the_store_can_hold_are_set_aside(tmp_path):
    house = make_house(tmp_path)
    put(tmp_path, "sale/s.csv", [good("sale", net_amount="1e300"), good("sale", net_amount="99999999999999999")])
    put(tmp_path, "spec/s.csv", [good("spec", price="1e300"), good("spec", version="99999999999999999999")])
    put(tmp_path, "ingredient/i.csv", [good("ingredient", pack_cost="1e18")])
    assert [(o.rows_landed, o.rows_set_aside) for o in take_in(house)] == [(0, 2), (0, 1), (0, 2)]


def test_a_heading_may_be_written_in_any_case(tmp_path):
    house = make_house(tmp_path, sale="SOLD_AT, Till_Item ,quantity,NET_AMOUNT\n2026-03-02 20:00,Fig Sour,1,9\n")
    assert [o.rows_landed for o in take_in(house)] == [1]


CELL = st.sampled_from(
    ["", " ", "1", "0", "-1", "9", "x", "nan", "1e400", "2026-03-02", "2026-03-02 20:00", "Fig Sour"]
)


@settings(max_examples=15, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.sampled_from(sorted(GOOD)), st.data())
def test_every_row_lands_or_is_set_aside_with_a_reason_or_passed_over(tmp_path_factory, table, data):
    columns = [*GOOD[table], "extra"]
    rows = data.draw(st.lists(st.fixed_dictionaries(dict.fromkeys(columns, CELL)), min_size=1, max_size=8))
    house = make_house(tmp_path_factory.mktemp("rows"))
    put(house.folder, f"{table}/{table}.csv", rows)
    [outcome] = take_in(house)
    if outcome.status == "no rows yet":
        return
    assert (outcome.status, outcome.rows_read) == ("landed", len(rows))
    landed = {number for (number,) in current(house, table, "row_number")}
    aside = {number for number, *_ in reasons(house)}
    blank = {n for n, row in enumerate(rows, 2) if not any(cell.strip() for cell in row.values())}
    assert not landed & aside
    assert landed | aside | blank == set(range(2, len(rows) + 2))
