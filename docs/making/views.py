"""The views of the store, from the SQL that makes them."""

from __future__ import annotations

import tempfile
from functools import cache
from pathlib import Path

from docs.making.markdown import table

import stillroom
from stillroom import model
from stillroom.api import new_house


@cache
def _columns() -> dict[str, list[tuple[str, str]]]:
    """View -> its columns with their types, as a new house's store has them."""
    with tempfile.TemporaryDirectory() as folder:
        new_house(Path(folder) / "house")
        house = stillroom.open(Path(folder) / "house")
        house.intake()
        rows = house.sql(
            "SELECT table_name, column_name, data_type FROM duckdb_columns() WHERE NOT internal ORDER BY column_index"
        )
    found: dict[str, list[tuple[str, str]]] = {}
    for view, column, kind in rows.rows():
        found.setdefault(view, []).append((column, kind.lower()))
    return found


def views(folder: str) -> str:
    """The views of one folder of the model, in the order of the alphabet."""
    names = sorted(path.stem for path in (model.FOLDER / folder).glob("*.sql"))
    return "\n\n".join(_of(model.view(name)) for name in names)


def _of(view: model.View) -> str:
    rows = ((f"`{column}`", kind, view.meaning(column)) for column, kind in _columns()[view.name])
    reads = ", ".join(f"`{name}`" for name in sorted(view.reads & {*model.names(), *_columns()}))
    return f"### {view.name}\n\n{view.about}\n\nReads: {reads}.\n\n" + table(("column", "type", "meaning"), rows)
