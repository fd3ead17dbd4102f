"""Identities that only rise need not be searched for repeats; all others must be."""

from __future__ import annotations

from pathlib import Path

import polars as pl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from house_builder import ask, good, make_house, put, take_in
from stillroom.intake.rising import Rising
from stillroom_schemas.tables import SALE, TASTING

pytestmark = pytest.mark.usefixtures("rows_alone")


def fallen(*batches: list[str | None]) -> list[str | None] | None:
    """The identities that may stand in the file already; None where all have to be searched."""
    following, found = Rising(SALE), []
    for names in batches:
        rows = pl.DataFrame({"line_id": names}, schema={"line_id": pl.String})
        found += rows.filter(following.fallen(rows))["line_id"].to_list()
    return found if following.so_far else None


@pytest.mark.parametrize(
    "batches",
    [
        (["1", "2", "10"], ["11", "100"]),
        (["L8", "L9"], ["L10"]),
        (["0008", "0009", "0010"],),
        (["1", None, "2"], [None], ["3"]),
        ([],),
    ],
)
def test_numbers_that_count_up_are_seen_to_rise(batches: tuple[list[str | None], ...]) -> None:
    assert fallen(*batches) == []


@pytest.mark.parametrize(
    ("batches", "late"),
    [
        ((["1", "1"],), ["1"]),
        ((["1", "2"], ["2"]), ["2"]),
        ((["a1", "A1"],), ["A1"]),  # one identity: names compare without case
        ((["2", "1"],), ["1"]),
        ((["1", "9"], ["2", "3", "10"]), ["2", "3"]),
        ((["1", None, "1"],), ["1"]),
        ((["1"], [], [None], ["1"]), ["1"]),
    ],
)
def test_what_repeats_or_falls_is_told(batches: tuple[list[str | None], ...], late: list[str]) -> None:
    assert fallen(*batches) == late


def test_identities_in_no_order_are_all_searched() -> None:
    assert fallen(["9", "8", "7", "6", "5"]) == ["8", "7", "6", "5"]
    assert fallen(["9", "1", "2", "3", "4", "5"]) is None
    assert fallen(["9"], ["1", "2", "3", "4", "5"]) is None


def test_no_more_wait_than_fit_into_memory(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("stillroom.intake.rising.MOST_FALLEN", 2)
    assert fallen(["5", "5"], ["5"]) == ["5", "5"]
    assert fallen(["5", "5"], ["5"], ["5"]) is None


@given(st.lists(st.lists(st.text("aAbB012é", min_size=1, max_size=3), max_size=6), max_size=4))
def test_what_is_not_told_as_late_never_repeats(batches: list[list[str]]) -> None:
    late = fallen(*batches)
    if late is None:
        return
    names = [name.lower() for batch in batches for name in batch]
    for name in late:
        names.remove((name or "").lower())
    assert len(set(names)) == len(names)


def test_a_table_whose_rows_have_no_identity_is_always_searched() -> None:
    assert not Rising(TASTING).so_far
    assert not Rising(SALE, a_line_a_row=False).so_far


@pytest.mark.parametrize(
    ("identities", "twice"),
    [
        (["L9", "L10", "L11", "L11"], {5: 4}),
        (["L9", "L11", "L10", "L9"], {5: 2}),
        (["L9", "L10", "l10", "L11"], {4: 3}),
        (["L9", "L3", "L3", "L9", "L3"], {4: 3, 5: 2, 6: 3}),
        (["L9", "L1", "L2", "L3", "L4", "L5", "L2"], {8: 4}),
    ],
)
def test_a_line_that_stands_twice_in_a_till_export_counts_once(
    tmp_path: Path, identities: list[str], twice: dict[int, int]
) -> None:
    house = make_house(tmp_path)
    put(house.folder, "sale/a.csv", [good("sale", line_id=one) for one in identities])
    take_in(house)
    text = """json_extract_string("row", '$.line_id')"""
    aside = ask(house, f'SELECT row_number, problem, "value", rule, {text} FROM set_aside')
    same = "the same venue and line_id stand on row {} already"
    assert sorted(aside) == [
        (row, same.format(first), f"The Test Room, {identities[row - 2]}", "key", identities[row - 2])
        for row, first in twice.items()
    ]
    landed = ask(house, "SELECT row_number FROM sale ORDER BY row_number")
    assert [row for (row,) in landed] == [row for row in range(2, len(identities) + 2) if row not in twice]
