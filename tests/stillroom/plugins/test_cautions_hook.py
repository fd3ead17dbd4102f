"""Cautions come by the hook: the built-in set, a stranger's beside it, and a faulty one named."""

import sys
from importlib.metadata import EntryPoint
from types import ModuleType

import pytest

from stillroom import hookimpl
from stillroom.answers.advice import DEFERRAL, advice_on
from stillroom.objects import Caution, SpecFacts
from stillroom.plugins import registry

CACTUS = Caution(name="cactus", title="Spines", source="common practice, no source", check=lambda facts: "It pricks.")


def plugged_in(monkeypatch: pytest.MonkeyPatch, things: object) -> registry.Registry:
    """The registry with one more plugin, whose register_cautions returns `things`."""
    module = ModuleType("stranger_cautions")
    module.register_cautions = hookimpl(lambda: things)  # type: ignore[attr-defined]
    monkeypatch.setitem(sys.modules, "stranger_cautions", module)
    point = EntryPoint(name="stranger", value="stranger_cautions", group="stillroom")
    monkeypatch.setattr(registry, "entry_points", lambda group: [point])
    return registry.load_registry()


def test_the_built_in_set_is_found() -> None:
    found = registry.load_registry()
    assert {"allergens", "ph-and-days", "raw-egg", "flame"} <= set(found.cautions)


def test_a_stranger_s_caution_stands_beside_them(monkeypatch: pytest.MonkeyPatch) -> None:
    found = plugged_in(monkeypatch, [CACTUS])
    assert not found.faults
    facts = SpecFacts(spec="Pear cordial", version=1, kind="preparation")
    (advice,) = advice_on(facts, found.cautions.values())
    assert advice.text == f"It pricks. {DEFERRAL}"


def test_a_faulty_one_is_named_and_the_rest_go_on(monkeypatch: pytest.MonkeyPatch) -> None:
    found = plugged_in(monkeypatch, ["not a caution"])
    assert any("stranger" in fault and "Caution" in fault for fault in found.faults)
    assert "allergens" in found.cautions


def test_a_name_taken_twice_is_left_out(monkeypatch: pytest.MonkeyPatch) -> None:
    twin = Caution(name="allergens", title="Mine", source="none", check=lambda facts: None)
    found = plugged_in(monkeypatch, [twin])
    assert found.cautions["allergens"].title == "Allergens"
    assert any("'allergens'" in fault for fault in found.faults)
