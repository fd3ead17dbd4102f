"""The whole demo goes through the engine: precisely the listed rows are set aside, and the truths are in the views."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path

import duckdb
import pytest

from house_builder import plugins
from stillroom.demo import truths
from stillroom.house.settings import load_house
from stillroom.store import opening
from stillroom_schemas import TABLES


@pytest.fixture(scope="module")
def store(demo_house: Path) -> Iterator[duckdb.DuckDBPyConnection]:
    outcomes = json.loads((demo_house / "intake.json").read_text(encoding="utf-8"))["files"]
    assert {outcome["status"] for outcome in outcomes} == {"landed"}
    assert not [heading for outcome in outcomes for heading in outcome["unused"]]
    with opening.reading(load_house(demo_house, plugins()), TABLES) as con:
        yield con


def test_precisely_the_listed_rows_are_set_aside(store: duckdb.DuckDBPyConnection) -> None:
    found = set(store.sql('SELECT file, row_number, "column" FROM set_aside').fetchall())
    assert found == {(bad.file, bad.row_number, bad.column) for bad in truths.BAD_ROWS}


def test_unmatched_names_are_listed_and_the_corrected_days_count_once(store: duckdb.DuckDBPyConnection) -> None:
    assert {item for (item,) in store.sql("SELECT till_item FROM unmatched_sales").fetchall()} == set(truths.UNMATCHED)
    twice = "SELECT line_id FROM current_sale GROUP BY line_id HAVING count(*) > 1"
    assert store.sql(twice).fetchall() == []
    in_force = "SELECT DISTINCT file FROM current_sale WHERE sold_at::DATE = DATE '2026-10-14' AND hour(sold_at) > 6"
    assert store.sql(in_force).fetchall() == [(truths.CORRECTED_FILE,)]


def test_sales_account_for_what_was_made(store: duckdb.DuckDBPyConnection) -> None:
    """Over-pouring and forgotten entries leave a few percent unexplained, not more."""
    fates = store.sql(
        """
        SELECT
            preparation,
            sum(abs(unexplained)) / sum(made),
            sum(poured_away + spoiled + left_at_use_by) / sum(made)
        FROM batch_fate
        GROUP BY preparation
        """
    ).fetchall()
    assert len(fates) == 18
    assert max(unexplained for _, unexplained, _ in fates) < 0.08
    lost = {preparation: share for preparation, _, share in fates}
    assert 0.35 < lost.pop(truths.ALWAYS_TOO_BIG) < 0.50
    assert max(lost.values()) < 0.20
