"""What is derived stands as tables where much reads it, and comes to the same in whichever form it stood before."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import duckdb
import pytest

from house_builder import ask, good, make_house, take_in
from house_builder import csv_text as text
from stillroom import model
from stillroom.store import opening

MOST = 15
"""Views that are planned for one; a chain of views that each name several grows by multiplication."""


def test_no_view_is_planned_over_and_over() -> None:
    names = set(model.names())

    @cache
    def planned(name: str) -> int:
        named = [other for other in model.named_in(model.view(name).sql) if other in names - model.BUILT]
        return 1 + sum(planned(other) for other in named)

    assert {name: planned(name) for name in names if planned(name) > MOST} == {}


def test_a_store_in_which_tables_were_views_is_made_anew(tmp_path: Path) -> None:
    house = make_house(
        tmp_path,
        spec=text([good("spec", price="9")]),
        spec_line=text([good("spec_line")]),
        ingredient=text([good("ingredient")]),
    )
    take_in(house)
    asked = "FROM spec_cost", "FROM version_span ORDER BY ALL", "FROM current_spec"
    before = [ask(house, query) for query in asked]
    assert all(before)
    with duckdb.connect(str(house.store_path)) as con:
        for name in model.BUILT:
            con.execute(f"DROP TABLE {name}; CREATE VIEW {name} AS SELECT 1 AS nothing")
        con.execute("DROP VIEW panel_scores; CREATE TABLE panel_scores (nothing INTEGER)")
        con.execute("CREATE VIEW of_an_earlier_version AS SELECT 1 AS nothing")
        con.execute("UPDATE stillroom_store SET made_for = 'an earlier version'")
        con.execute("COMMENT ON TABLE stillroom_store IS 'views made of something else'")
    assert [ask(house, query) for query in asked] == before
    assert ask(house, "SELECT 1 FROM duckdb_views() WHERE view_name = 'of_an_earlier_version'") == []
    assert ask(house, "SELECT 1 FROM duckdb_tables() WHERE table_name = 'panel_scores'") == []


def test_a_store_has_no_more_threads_than_its_rows_keep_busy(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("POLARS_MAX_THREADS", "3")
    house = make_house(tmp_path, sale=text([good("sale")]))
    take_in(house)
    asked = "SELECT current_setting('threads')"
    assert ask(house, asked) == [(1,)]
    monkeypatch.setattr(opening, "ROW_GROUP", 1)
    assert ask(house, asked) == [(3,)]
