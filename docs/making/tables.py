"""The tables that files fill, from their models."""

from __future__ import annotations

from typing import Any

from docs.making.markdown import table
from docs.making.settings import registry

from stillroom.house.template_book import described
from stillroom_schemas.table import Table


def tables() -> str:
    """Every table: what a row is, its key, and each column."""
    return "\n\n".join(_of(one) for one in registry().tables.values())


def _of(one: Table) -> str:
    columns = one.schema().columns.items()
    rows = ((f"`{name}`", _kind(column), _need(column), described(column)) for name, column in columns)
    key = f"\n\nA row is named by: {', '.join(f'`{column}`' for column in one.key)}." if one.key else ""
    return f"## {one.name}\n\n{one.title[:1].upper()}{one.title[1:]}.{key}\n\n" + table(
        ("column", "kind", "empty", "meaning"), rows
    )


def _kind(column: Any) -> str:
    return str(column.dtype)


def _need(column: Any) -> str:
    default = (column.metadata or {}).get("default")
    if default is not None:
        return f"means {default:g}" if isinstance(default, float) else f"means {default}"
    return "may be" if column.nullable else "never"
