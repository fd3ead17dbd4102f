"""Every view and every column says what it means; and nothing is said of what is not there."""

from __future__ import annotations

from pathlib import Path

import pytest

from house_builder import ask, make_house, take_in
from stillroom import model
from stillroom.house.house import House


@pytest.fixture(scope="module")
def house(tmp_path_factory: pytest.TempPathFactory) -> House:
    made = make_house(tmp_path_factory.mktemp("comments"))
    take_in(made)
    return made


def columns(house: House) -> dict[str, dict[str, str | None]]:
    """View -> column -> its comment in the store."""
    rows = ask(house, "SELECT table_name, column_name, comment FROM duckdb_columns() WHERE NOT internal")
    found: dict[str, dict[str, str | None]] = {}
    for view, column, comment in rows:
        found.setdefault(view, {})[column] = comment
    return found


def test_every_view_and_column_has_a_comment_in_the_store(house: House) -> None:
    made = dict(ask(house, "SELECT view_name, comment FROM duckdb_views() WHERE NOT internal"))
    made |= {name: comment for name, comment in ask(house, "SELECT table_name, comment FROM duckdb_tables()")
             if name in model.BUILT}  # fmt: skip
    assert set(model.names()) < set(made)
    assert sum(name.startswith("current_") for name in made) == len(made) - len(model.names()) > 0
    assert [name for name, comment in made.items() if not comment] == []
    bare = [(view, column) for view in made for column, comment in columns(house)[view].items() if not comment]
    assert bare == []


def test_no_comment_is_of_a_column_that_is_not_there(house: House) -> None:
    there = columns(house)
    assert [(v.name, column) for v in model.views() for column in v.columns if column not in there[v.name]] == []


def test_a_column_says_the_same_twice_in_no_place_and_the_glossary_holds_no_idle_word(house: House) -> None:
    there, glossary = columns(house), model.glossary()
    assert [(v.name, c) for v in model.views() for c, said in v.columns.items() if glossary.get(c) == said] == []
    own = {view.name: view.columns for view in model.views()}
    used = {column for view, names in there.items() for column in names if column not in own.get(view, {})}
    assert set(glossary) - used == set()


def test_names_are_folded_and_units_turned_in_one_place() -> None:
    texts = {path: path.read_text(encoding="utf-8") for path in Path(model.FOLDER).rglob("*.sql")}
    assert [path.name for path, text in texts.items() if "lower(" in text] == []
    assert [path.name for path, text in texts.items() if "{name_key}" in text] == ["macros.sql"]
    assert [path.name for path, text in texts.items() if "THEN amount * density_g_ml" in text] == ["macros.sql"]


def test_each_view_is_made_after_those_it_reads() -> None:
    order = [view.name for view in model.views()]
    for place, view in enumerate(model.views()):
        assert view.reads & set(order) <= set(order[:place]), view.name
