"""Plugins: found, checked and collected; every fault is one sentence that names the plugin, and the rest go on."""

from __future__ import annotations

import pkgutil
import re
import sys
import time
from dataclasses import replace
from importlib.metadata import EntryPoint
from types import ModuleType
from typing import Any, NoReturn

import pandera.polars as pa
import polars as pl
import pytest

from stillroom import guarded, hookimpl, model
from stillroom.objects import Report, ReportInputs, ReportResult, Settings, Source
from stillroom.plugins import registry
from stillroom.plugins.registry import COLUMN_TYPES, TAKEN, Registry, load_registry
from stillroom.store import layout, worked_out
from stillroom_schemas import TABLES
from stillroom_schemas.table import Table


def build(inputs: ReportInputs) -> ReportResult:
    return ReportResult()


def report(name: str) -> Report:
    return Report(name=name, title="T", question="Q?", needs=(), build=build)


def source(name: str, *tables: str) -> Source:
    return Source(name=name, title="T", tables=tables, headings=lambda file: [], read=lambda file: iter(()))


class Guests(pa.DataFrameModel):
    guest: str = pa.Field(description="who came")


class Needed(Settings):
    limit: float


class Leaving(Guests):
    @classmethod
    def to_schema(cls) -> NoReturn:
        sys.exit(0)


class Lists(pa.DataFrameModel):
    guests: pl.List = pa.Field(description="who came")


def table(name: str, model: type[pa.DataFrameModel] = Guests, **more: Any) -> Table:
    return Table(name=name, title="T", model=model, **more)


@pytest.fixture
def load(monkeypatch):
    """The registry with these plugins beside the built-in ones: a module's attributes, or what its import raises."""

    def loaded(**plugins: dict[str, Any] | BaseException) -> Registry:
        points = []
        for name, attributes in plugins.items():
            module = ModuleType(name)
            if isinstance(attributes, dict):
                for attribute, value in attributes.items():
                    setattr(module, attribute, value)
                monkeypatch.setitem(sys.modules, name, module)
            points.append(EntryPoint(name=name, value=name, group="stillroom"))
        real = EntryPoint.load

        def load_or_raise(point: EntryPoint) -> Any:
            attributes = plugins[point.name]
            if isinstance(attributes, BaseException):
                raise attributes
            return real(point)

        monkeypatch.setattr(EntryPoint, "load", load_or_raise)
        monkeypatch.setattr(registry, "entry_points", lambda group: points)
        return load_registry()

    return loaded


def offering(**hooks: Any) -> dict[str, Any]:
    """A plugin whose hooks return these things."""

    def hook(name: str, things: Any) -> Any:
        def implementation() -> Any:
            if isinstance(things, BaseException):
                raise things
            return things

        implementation.__name__ = name
        return hookimpl(implementation)

    return {name: hook(name, things) for name, things in hooks.items()}


def test_the_built_in_plugins_have_no_fault(load):
    found = load()
    assert found.faults == ()
    assert set(found.sources) == {
        "till-export", "tasting-sheet", "trial-sheet", "batch-book", "spec-book", "price-list", "till-match",
    }  # fmt: skip
    assert [*found.tables][: len(TABLES)] == [t.name for t in TABLES]
    assert {"season", "expiry", "panel"} <= set(found.reports)
    assert {name for source in found.sources.values() for name in source.tables} == {t.name for t in TABLES}


def test_what_built_in_plugins_name_is_there(load):
    found = load()
    named = [report.build for report in found.reports.values()]
    named += [of for source in found.sources.values() for of in (source.headings, source.read)]
    assert all(callable(pkgutil.resolve_name(name)) for name in named if isinstance(name, str))


def test_a_stranger_adds_a_source_a_table_and_a_report(load):
    found = load(
        guests=offering(
            register_sources=[source("guest-list", "guest")],
            register_tables=[table("guest")],
            register_reports=[report("guests")],
        )
    )
    assert found.faults == ()
    assert "guest-list" in found.sources
    assert "guest" in found.tables
    assert "guests" in found.reports


@pytest.mark.parametrize(
    ("plugin", "said"),
    [
        (ImportError("no module named glasses"), "Plugin 'odd' does not import (ImportError: no module named glasses)"),
        (SyntaxError("invalid syntax"), "Plugin 'odd' does not import (SyntaxError: invalid syntax)"),
        (SystemExit(3), "Plugin 'odd' does not import (SystemExit: 3)"),
        (offering(register_report=[]), "Plugin 'odd' has a hook 'register_report'; there are only register_sources"),
        ({"register_reports": list}, "Plugin 'odd' offers no hook (did you forget @hookimpl?)"),
        (offering(register_reports=report("x")), "Plugin 'odd': register_reports must return a list of Report objects"),
        (offering(register_reports=[1]), "Plugin 'odd': register_reports must return a list of Report objects"),
        (offering(register_sources=None), "Plugin 'odd': register_sources must return a list of Source objects"),
        (offering(register_tables=RuntimeError("boom")), "Plugin 'odd': register_tables failed (RuntimeError: boom)"),
        (offering(register_tables=SystemExit()), "Plugin 'odd': register_tables failed (SystemExit)"),
        (offering(register_reports=[report(["r"])]), "register_reports: a name must be text, not ['r']"),
        (offering(register_reports=[report("../r")]), "register_reports: '../r' is no name of letters, digits and -"),
        (offering(register_reports=[replace(report("r"), title=None)]), "a title must be text, not None"),
        (
            offering(register_reports=[replace(report("r"), needs="last_day")]),
            "needs must be a tuple of texts, not 'last_day'",
        ),
        (
            offering(register_sources=[source("s", "nowhere")]),
            "its source 's' fills a table 'nowhere' that nobody registers",
        ),
        (offering(register_tables=[table("sale")]), "Plugin 'odd' registers a table 'sale', which is built in"),
        (offering(register_tables=[table("intake")]), "a table 'intake', a name that the store itself uses"),
        (offering(register_tables=[table('x"; DROP')]), "which must be small letters, digits and _"),
        (
            offering(register_tables=[table("lists", Lists)]),
            "whose column guests (List) is of a kind that cannot be stored",
        ),
        (offering(register_tables=[table("g", key=("who",))]), "names a column 'who' that it does not have"),
        (
            offering(register_reports=[replace(report("r"), settings=int)]),
            "registers a report 'r', whose settings are no model derived from stillroom.objects.Settings",
        ),
        (
            offering(register_reports=[replace(report("r"), settings=Needed)]),
            "registers a report 'r', whose settings have no value unless they are set (ValidationError: ",
        ),
        (offering(register_tables=[table("g", Leaving)]), "whose model is no pandera model for polars (SystemExit: 0)"),
        (offering(register_tables=[table("g", int)]), "whose model is no pandera model"),  # type: ignore[arg-type]
    ],
)
def test_a_fault_is_one_sentence_and_the_rest_go_on(load, plugin, said):
    found = load(odd=plugin, sound=offering(register_reports=[report("sound")]))
    [fault] = found.faults
    assert said in fault
    assert fault.startswith("Plugin 'odd'")
    assert fault.endswith(": it is left out.")
    assert "\n" not in fault
    assert "sound" in found.reports
    assert "season" in found.reports


def test_a_hook_with_arguments_of_its_own_is_named(load):
    @hookimpl
    def register_reports(whatever):
        return []

    [fault] = load(odd={"register_reports": register_reports}).faults
    assert fault.startswith("Plugin 'odd' cannot be registered (PluginValidationError: ")


def test_two_plugins_with_one_name_are_both_named(load):
    first = offering(register_reports=[report("guests")])
    second = offering(register_reports=[report("guests")])
    found = load(one=first, two=second)
    assert found.faults == ("Plugins 'one' and 'two' both register 'guests': the second is left out.",)


def test_a_stranger_cannot_take_a_built_in_name_away(load):
    found = load(aaa=offering(register_reports=[report("season")]))
    [fault] = found.faults
    assert "'stillroom_plugins.reports.season' and 'aaa' both register 'season'" in fault
    assert found.reports["season"].build is not build


def test_names_that_the_store_uses_are_all_known():
    """A new table of the store must be told to the registry."""
    made = {line.split()[5] for line in layout.OWN_TABLES.splitlines() if line.startswith("CREATE TABLE")}
    assert made | {*worked_out.TABLES, *model.names()} <= registry.TAKEN
    assert set(layout.SQL_TYPES) == registry.COLUMN_TYPES


def test_a_plugin_that_hangs_while_it_is_imported_is_given_up(monkeypatch):
    point = EntryPoint(name="sleepy", value="sleepy", group="stillroom")
    monkeypatch.setattr(EntryPoint, "load", lambda point: time.sleep(3600))
    monkeypatch.setattr(registry, "entry_points", lambda group: [point])
    monkeypatch.setattr(guarded, "INSTANT", 0.1)
    found = load_registry()
    assert found.faults == ("Plugin 'sleepy' does not import (it takes more than 0.1 s): it is left out.",)
    assert "till-export" in found.sources


def test_what_is_refused_to_a_plugins_table_is_what_the_store_has():
    own = set(re.findall(r"CREATE TABLE IF NOT EXISTS (\w+)", layout.OWN_TABLES))
    assert own
    assert own | {*worked_out.TABLES, *model.names()} <= TAKEN
    assert set(layout.SQL_TYPES) == COLUMN_TYPES
