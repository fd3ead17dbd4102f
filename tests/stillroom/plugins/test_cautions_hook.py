"""Cautions come by the hook: the built-in set, a stranger's beside it, and a faulty one named."""

import sys
import time
from importlib.metadata import EntryPoint
from types import ModuleType

import pytest

from stillroom import hookimpl
from stillroom.answers import advice
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
    (said,) = advice_on(facts, found.cautions.values())
    assert said.text == f"It pricks. {DEFERRAL}"


def test_a_faulty_one_is_named_and_the_rest_go_on(monkeypatch: pytest.MonkeyPatch) -> None:
    found = plugged_in(monkeypatch, ["not a caution"])
    assert any("stranger" in fault and "Caution" in fault for fault in found.faults)
    assert "allergens" in found.cautions


def test_those_that_fail_end_or_hang_say_so_and_the_others_are_asked(monkeypatch: pytest.MonkeyPatch) -> None:
    def hang(facts: SpecFacts) -> str:
        hung.append(facts.spec)
        time.sleep(3600)
        return ""

    hung: list[str] = []
    monkeypatch.setattr(advice, "INSTANT", 0.2)
    monkeypatch.setattr(advice, "_HANGING", {})
    checks = {"fails": lambda facts: 1 / 0, "leaves": lambda facts: sys.exit(0), "hangs": hang}
    odd = [Caution(name=name, title=name, source="none", check=check) for name, check in checks.items()]  # type: ignore[arg-type]
    for spec in ("Pear cordial", "Fig cordial"):
        said = advice_on(SpecFacts(spec=spec, version=1, kind="preparation"), [*odd, CACTUS])
        whats = ("ZeroDivisionError: division by zero", "SystemExit: 0", "it takes more than 0.2 s")
        wanted = [f"This caution could not be checked, its plugin failed ({what})." for what in whats]
        assert [one.text for one in said] == [f"{text} {DEFERRAL}" for text in (*wanted, "It pricks.")]
    assert hung == ["Pear cordial"]  # nobody waits for it again


def test_a_name_taken_twice_is_left_out(monkeypatch: pytest.MonkeyPatch) -> None:
    twin = Caution(name="allergens", title="Mine", source="none", check=lambda facts: None)
    found = plugged_in(monkeypatch, [twin])
    assert found.cautions["allergens"].title == "Allergens"
    assert any("'allergens'" in fault for fault in found.faults)
