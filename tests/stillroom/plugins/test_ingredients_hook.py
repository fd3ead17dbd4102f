"""What is commonly in ingredients comes by the hook, too: beside the built-in table, each figure with its source."""

import sys
from importlib.metadata import EntryPoint
from pathlib import Path
from types import ModuleType

import pytest

from house_builder import HOUSE, SOURCES, ask, good, put, take_in
from stillroom import hookimpl, model
from stillroom.house.settings import load_house
from stillroom.objects import CommonIngredients
from stillroom.plugins import registry

HEAD = ",".join(model.COMMON)


def plugged_in(monkeypatch: pytest.MonkeyPatch, folder: Path, *rows: str) -> registry.Registry:
    """The registry with one more plugin, whose table holds these rows."""
    path = folder / "mine.csv"
    path.write_text("\n".join([HEAD, *rows]) + "\n", encoding="utf-8")
    module = ModuleType("stranger_ingredients")
    table = CommonIngredients(name="mine", file=path)
    module.register_ingredients = hookimpl(lambda: [table])  # type: ignore[attr-defined]
    monkeypatch.setitem(sys.modules, "stranger_ingredients", module)
    point = EntryPoint(name="stranger", value="stranger_ingredients", group="stillroom")
    monkeypatch.setattr(registry, "entry_points", lambda group: [point])
    return registry.load_registry()


def test_a_plugin_adds_to_the_table_and_takes_nothing_from_it(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    yuzu = "yuzu juice,,dissolves,2.1,,,4.9,,,citric 4.9,,,,1.03,,a handbook"
    found = plugged_in(monkeypatch, tmp_path, yuzu, "lemon juice,,dissolves,99,,,,,,,,,,,,a joke")
    assert not found.faults
    (tmp_path / "house").mkdir()
    (tmp_path / "house" / "stillroom.toml").write_text(HOUSE + SOURCES, encoding="utf-8")
    house = load_house(tmp_path / "house", found)
    put(house.folder, "ingredient/i.csv", [good("ingredient")])
    take_in(house)
    rows = ask(house, "SELECT item, sugar_pct, source FROM known_item WHERE item_key IN ('yuzu juice', 'lemon juice')")
    assert ("yuzu juice", 2.1, "a handbook") in rows
    assert [sugar for item, sugar, _ in rows if item == "lemon juice"] == [2.52]


@pytest.mark.parametrize(
    ("row", "said"),
    [
        ("yuzu juice,,dissolves,2.1,,,,,,,,,,,,", "row 2 lacks a name, its source"),
        ("yuzu juice,,liquid,2.1,,,,,,,,,,,,a handbook", "or a kind (dissolves or solid)"),
        ("yuzu juice,,dissolves,two,,,,,,,,,,,,a handbook", "row 2 has no number as sugar_pct: 'two'"),
    ],
)
def test_a_faulty_table_is_named_and_left_out(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, row: str, said: str
) -> None:
    found = plugged_in(monkeypatch, tmp_path, row)
    assert not found.ingredients
    assert any("'stranger'" in fault and said in fault for fault in found.faults)
