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


def rising(*batches: list[str | None]) -> bool:
    found = Rising(SALE)
    for names in batches:
        found.see(pl.DataFrame({"line_id": names}, schema={"line_id": pl.String}))
    return found.so_far


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
    assert rising(*batches)


@pytest.mark.parametrize(
    "batches",
    [
        (["1", "1"],),
        (["1", "2"], ["2"]),
        (["a1", "A1"],),  # one identity: names compare without case
        (["2", "1"],),
        (["1", "3"], ["2"]),
        (["1", None, "1"],),
        (["1"], [], [None], ["1"]),
    ],
)
def test_what_repeats_or_falls_is_not(batches: tuple[list[str | None], ...]) -> None:
    assert not rising(*batches)


@given(st.lists(st.lists(st.text("aAbB012é", min_size=1, max_size=3), max_size=4), max_size=4))
def test_what_rises_never_repeats(batches: list[list[str]]) -> None:
    names = [name.lower() for batch in batches for name in batch]
    assert len(set(names)) == len(names) or not rising(*batches)


def test_a_table_whose_rows_have_no_identity_is_always_searched() -> None:
    assert not Rising(TASTING).so_far


@pytest.mark.parametrize(
    ("identities", "twice"),
    [(["L9", "L10", "L11", "L11"], [5]), (["L9", "L11", "L10", "L9"], [5]), (["L9", "L10", "l10", "L11"], [4])],
)
def test_a_line_that_stands_twice_in_a_till_export_counts_once(
    tmp_path: Path, identities: list[str], twice: list[int]
) -> None:
    house = make_house(tmp_path)
    put(house.folder, "sale/a.csv", [good("sale", line_id=one) for one in identities])
    take_in(house)
    aside = ask(house, 'SELECT row_number, "column", problem FROM set_aside')
    assert [row[0] for row in aside] == twice
    assert all(row[1] == "line_id" and "stand on row" in row[2] for row in aside)
