"""Finds plugins and collects what they register; every fault is one sentence that names the plugin.

Built-in plugins are the modules of `stillroom_plugins.sources`, `.reports` and `.cautions`; a stranger's come by the
entry-point group `stillroom`. Both go through the same hooks and the same checks. A faulty plugin is left
out and named; the rest go on.
"""

from __future__ import annotations

import csv
import importlib
import pkgutil
import re
from collections.abc import Callable, Iterator
from contextlib import closing
from dataclasses import dataclass, fields
from importlib.metadata import EntryPoint, entry_points
from reprlib import repr as short
from typing import Any, Final, TypeVar

import pluggy

from stillroom import PROJECT, model
from stillroom.errors import StillroomError, in_one_line
from stillroom.guarded import INSTANT, Hand, called
from stillroom.objects import Caution, CommonIngredients, Report, Settings, Source
from stillroom.plugins import hookspecs
from stillroom_schemas import TABLES
from stillroom_schemas.table import Table

BUILT_IN_PACKAGES: Final = ("stillroom_plugins.sources", "stillroom_plugins.reports", "stillroom_plugins.cautions")
NUMBER: Final = re.compile(r"\d+(\.\d+)?")
HOOKS: Final[dict[str, type]] = {
    "register_sources": Source,
    "register_tables": Table,
    "register_reports": Report,
    "register_cautions": Caution,
    "register_ingredients": CommonIngredients,
}

Registered = TypeVar("Registered", Source, Table, Report, Caution, CommonIngredients)


@dataclass(frozen=True, kw_only=True)
class Registry:
    """What all plugins together offer, by name, and what was wrong with those left out."""

    sources: dict[str, Source]
    tables: dict[str, Table]
    reports: dict[str, Report]
    cautions: dict[str, Caution]
    ingredients: dict[str, CommonIngredients]
    owners: dict[str, str]
    """Report -> the plugin that it comes from."""
    faults: tuple[str, ...]


def load_registry() -> Registry:
    """Find every plugin, check it, and collect what it registers."""
    manager = pluggy.PluginManager(PROJECT)
    manager.add_hookspecs(hookspecs)
    with closing(Hand()) as hand:
        faults = [fault for name, plugin in _found() if (fault := _register(manager, name, plugin, hand))]
        sources, source_owners, source_faults = _collect(manager, "register_sources", Source, hand)
        tables, table_owners, table_faults = _collect(manager, "register_tables", Table, hand)
        reports, report_owners, report_faults = _collect(manager, "register_reports", Report, hand)
        cautions, _, caution_faults = _collect(manager, "register_cautions", Caution, hand)
        ingredients, ingredient_owners, ingredient_faults = _collect(
            manager, "register_ingredients", CommonIngredients, hand
        )
    reports = dict(sorted(reports.items(), key=lambda item: (item[1].place, item[0])))
    ingredient_faults += _left_out(ingredients, ingredient_owners, "table of ingredients", _without_sources)
    table_faults += _left_out(tables, table_owners, "table", _unfit)
    report_faults += _left_out(reports, report_owners, "report", _without_settings)
    tables = {**{table.name: table for table in TABLES}, **tables}
    faults += source_faults + table_faults + report_faults + caution_faults + ingredient_faults
    faults += _unknown_tables(sources, source_owners, tables)
    return Registry(
        sources=sources,
        tables=tables,
        reports=reports,
        cautions=cautions,
        ingredients=ingredients,
        owners=report_owners,
        faults=tuple(faults),
    )


def _left_out(
    things: dict[str, Registered], owners: dict[str, str], what: str, unfit: Callable[[Registered], str | None]
) -> list[str]:
    """Take out what is not fit for use; a sentence for each."""
    found = {name: fault for name, thing in things.items() if (fault := unfit(thing))}
    for name in found:
        del things[name]
    of = {name: f"Plugin '{owners[name]}' registers a {what} {name!r}" for name in found}
    return [f"{of[name]}, {fault}: it is left out." for name, fault in found.items()]


BUILT_IN: Final = frozenset(table.name for table in TABLES)
TAKEN: Final = frozenset(
    {"stillroom_store", "intake", "set_aside", "incoming_rows", "unit", "free_item", "known_item", "row_aside"}
    | {"standing", "span", "superseded", "rows_in_force", "making_share", "looked_for", "closed_day"}
    | {"spec_density", "ingredient_density", "batch_use", *model.names()}
)
"""Names that the store itself uses."""
COLUMN_TYPES: Final = frozenset({"String", "Int64", "Float64", "Boolean", "Date", "Datetime"})


def _unfit(table: Table) -> str | None:
    """Why a plugin's table cannot be one of the store's."""
    if table.name in BUILT_IN:
        return "which is built in"
    if not table.name.isidentifier() or table.name != table.name.lower() or table.name.startswith("current_"):
        return "which must be small letters, digits and _, and must not begin with current_"
    if table.name in TAKEN:
        return "a name that the store itself uses"
    return None if isinstance(table.model, str) else unfit_model(table)  # one that is only named waits till it is used


def unfit_model(table: Table) -> str | None:
    """Why the model of a plugin's table cannot be stored; where it is only named, this imports it."""
    if table.name in BUILT_IN:
        return None
    try:
        columns = called(table.schema, INSTANT).columns
        types = {name: column.dtype.type.base_type().__name__ for name, column in columns.items()}
    except Exception as error:
        return f"whose model is no pandera model for polars ({in_one_line(error)})"
    odd = [f"{name} ({kind})" for name, kind in types.items() if kind not in COLUMN_TYPES]
    if odd:
        return f"whose column {odd[0]} is of a kind that cannot be stored; there are {', '.join(sorted(COLUMN_TYPES))}"
    unknown = [name for name in (*table.key, *table.ground) if name not in columns]
    return f"whose key or ground names a column '{unknown[0]}' that it does not have" if unknown else None


def _without_sources(table: CommonIngredients) -> str | None:
    """Why a plugin's table of common ingredients cannot be read: each figure needs its source."""
    try:
        rows = list(csv.DictReader(table.file.read_text(encoding="utf-8").splitlines()))
    except (OSError, UnicodeDecodeError, csv.Error) as error:
        return f"which cannot be read ({in_one_line(error)})"
    headings = tuple(rows[0]) if rows else ()
    if headings != model.COMMON:
        return f"whose headings must be {', '.join(model.COMMON)}"
    for number, row in enumerate(rows, start=2):
        if not row["item"] or not row["source"] or row["kind"] not in model.COMMON_KINDS:
            return f"of which row {number} lacks a name, its source, or a kind ({' or '.join(model.COMMON_KINDS)})"
        odd = [name for name in model.COMMON_NUMBERS if row[name] and not NUMBER.fullmatch(row[name])]
        if odd:
            return f"of which row {number} has no number as {odd[0]}: '{row[odd[0]]}'"
    return None


def _without_settings(report: Report) -> str | None:
    """Why a report cannot have the settings it names."""
    if not isinstance(report.settings, type) or not issubclass(report.settings, Settings):
        return "whose settings are no model derived from stillroom.objects.Settings"
    try:
        called(report.settings, INSTANT)
    except StillroomError as error:
        return f"whose settings have no value unless they are set ({in_one_line(error)})"
    return None


def _found() -> Iterator[tuple[str, Any]]:
    """Names of built-in modules, then entry points; an entry point is loaded when it is registered."""
    for package_name in BUILT_IN_PACKAGES:
        package = importlib.import_module(package_name)
        for module in sorted(m.name for m in pkgutil.iter_modules(package.__path__)):
            if not module.startswith("_"):
                yield f"{package_name}.{module}", f"{package_name}.{module}"
    for point in sorted(entry_points(group=PROJECT), key=lambda point: point.name):
        yield point.name, point


def _register(manager: pluggy.PluginManager, name: str, found: str | EntryPoint, hand: Hand) -> str | None:
    """Import and register one plugin; the sentence to show where that fails."""
    try:
        plugin = hand.do(lambda: importlib.import_module(found) if isinstance(found, str) else found.load())
    except StillroomError as fault:
        return f"Plugin '{name}' does not import ({fault}): it is left out."
    offered = [hook for hook in dir(plugin) if _is_marked(plugin, hook)]
    unknown = [hook for hook in offered if hook not in HOOKS]
    if unknown:
        return f"Plugin '{name}' has a hook '{unknown[0]}'; there are only {', '.join(HOOKS)}: it is left out."
    if not offered:
        return f"Plugin '{name}' offers no hook (did you forget @hookimpl?): it is left out."
    try:
        manager.register(plugin, name=name)
    except (pluggy.PluginValidationError, ValueError) as error:
        return f"Plugin '{name}' cannot be registered ({in_one_line(error)}): it is left out."
    return None


def _is_marked(plugin: object, attribute: str) -> bool:
    return hasattr(getattr(plugin, attribute, None), f"{PROJECT}_impl")


def _collect(
    manager: pluggy.PluginManager, hook: str, kind: type[Registered], hand: Hand
) -> tuple[dict[str, Registered], dict[str, str], list[str]]:
    """Call one hook of every plugin, one after another, so that a fault is its own plugin's.

    Returns:
        What they register, by name; the plugin that each comes from, by name; the faults.
    """
    collected: dict[str, Registered] = {}
    owners: dict[str, str] = {}
    faults = []
    implementations = sorted(getattr(manager.hook, hook).get_hookimpls(), key=lambda impl: _rank(impl.plugin_name))
    for implementation in implementations:
        plugin = implementation.plugin_name
        try:
            things = hand.do(implementation.function)
        except StillroomError as fault:
            faults.append(f"Plugin '{plugin}': {hook} failed ({fault}): it is left out.")
            continue
        if not isinstance(things, list) or not all(isinstance(thing, kind) for thing in things):
            faults.append(f"Plugin '{plugin}': {hook} must return a list of {kind.__name__} objects: it is left out.")
            continue
        for thing in things:
            if odd := _misshapen(thing):
                faults.append(f"Plugin '{plugin}': {hook}: {odd}: it is left out.")
                continue
            if thing.name in collected:
                other = owners[thing.name]
                faults.append(f"Plugins '{other}' and '{plugin}' both register {thing.name!r}: the second is left out.")
                continue
            collected[thing.name] = thing
            owners[thing.name] = plugin
    return collected, owners, faults


def _misshapen(thing: Registered) -> str | None:
    """Why nothing can be done with a thing: it has a text that is none, or a name that no file or setting can have."""
    for field in fields(thing):
        value = getattr(thing, field.name)
        if field.type == "str" and not isinstance(value, str):
            return f"a {field.name} must be text, not {short(value)}"
        if field.type == "tuple[str, ...]" and not _are_texts(value):
            return f"{field.name} must be a tuple of texts, not {short(value)}"
    if isinstance(thing, Table) or re.fullmatch(r"\w[\w -]*", thing.name):  # of a table's name more is asked below
        return None
    return f"{short(thing.name)} is no name of letters, digits and -"


def _are_texts(value: object) -> bool:
    return isinstance(value, tuple | list) and all(isinstance(one, str) for one in value)


def _rank(plugin_name: str) -> tuple[bool, str]:
    """Built-in plugins first, so that a stranger cannot take a built-in name away."""
    return not plugin_name.startswith("stillroom_plugins."), plugin_name


def _unknown_tables(sources: dict[str, Source], owners: dict[str, str], tables: dict[str, Table]) -> list[str]:
    faults = []
    for source in list(sources.values()):
        unknown = [table for table in source.tables if table not in tables]
        if unknown:
            faults.append(
                f"Plugin '{owners[source.name]}': its source '{source.name}' fills a table '{unknown[0]}' that nobody "
                "registers: it is left out."
            )
            del sources[source.name]
    return faults
