"""The hooks: all of them. A plugin is one module (or package) that implements at least one."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pluggy

from stillroom import PROJECT

if TYPE_CHECKING:
    from stillroom.objects import Caution, CommonIngredients, Report, Source, Table

hookspec = pluggy.HookspecMarker(PROJECT)


@hookspec
def register_sources() -> list[Source]:  # type: ignore[empty-body]
    """Kinds of file this plugin can read."""


@hookspec
def register_tables() -> list[Table]:  # type: ignore[empty-body]
    """Tables of its own that this plugin adds to the store."""


@hookspec
def register_reports() -> list[Report]:  # type: ignore[empty-body]
    """Questions this plugin answers."""


@hookspec
def register_cautions() -> list[Caution]:  # type: ignore[empty-body]
    """What to be careful of in a spec, beyond what is built in."""


@hookspec
def register_ingredients() -> list[CommonIngredients]:  # type: ignore[empty-body]
    """What is commonly in ingredients, beyond the built-in table."""
