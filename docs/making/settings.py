"""The settings, from their models."""

from __future__ import annotations

from functools import cache
from typing import Any, Final

from docs.making.markdown import table

from stillroom.group.facts import COLUMNS
from stillroom.house.base import Settings
from stillroom.house.complaints import part_of, wanted
from stillroom.house.model import report_tables
from stillroom.house.toml import toml
from stillroom.plugins.registry import Registry, load_registry

HEADINGS: Final = ("setting", "meaning", "what it may be", "unless set")


@cache
def registry() -> Registry:
    """All plugins, found once."""
    return load_registry()


def settings_table(model: type[Settings]) -> str:
    """All settings of one table."""
    schema = model.model_json_schema()
    rows = []
    for name, field in model.model_fields.items():
        key = field.alias or name
        allowed = wanted(part_of(schema, (key,)))
        rows.append((f"`{key}`", field.description or "", allowed, "needed" if field.is_required() else _unset(field)))
    return table(HEADINGS, rows)


def _unset(field: Any) -> str:
    value = field.get_default(call_default_factory=True)
    return "" if value in (None, (), {}, []) else f"`{toml(value)}`"


def reports() -> str:
    """The tables under `[report]`; those without settings are left out."""
    tables = {name: model for name, model in report_tables(registry()).items() if model.model_fields}
    return "\n\n".join(
        f"### [report.{name}]\n\n{model.__doc__}\n\n{settings_table(model)}" for name, model in tables.items()
    )


def plugins() -> str:
    """What `plugin = ...` of a source may say."""
    rows = ((f"`{source.name}`", source.title, ", ".join(source.tables)) for source in registry().sources.values())
    return table(("plugin", "reads", "fills"), rows)


def facts() -> str:
    """The tables of facts of a group."""
    rows = (
        (f"`{name}`", ", ".join(f"`{one}`" for one in columns if one not in ("house", "run_id")))
        for name, columns in COLUMNS.items()
    )
    return table(("table", "columns, besides `house` and `run_id`"), rows)
