"""The views of the store, read from the SQL beside this file: what each is, what its columns mean, what it reads."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache
from graphlib import TopologicalSorter
from pathlib import Path
from typing import Final

from stillroom.names import key_in_sql

FOLDER: Final = Path(__file__).parent
MACROS: Final = (FOLDER / "macros.sql").read_text(encoding="utf-8").replace("{name_key}", key_in_sql("name"))
ROLL_UP: Final = "till_day"
FOR_DENSITIES: Final = ("spelling", "spec_version", "service_span")
"""Built first: densities are worked out from them, and then told by `spec_version`."""
BY_USE: Final = ("version_in_use", "spec_epoch", "part_span", "version_span")
"""Built last, and once more when it is known which batches were used."""
WITH_DENSITIES: Final = (
    *("spec_version", "item_spelling", "spec_item", "price_span", "batch_entry", "match_entry", "batch_made"),
    *BY_USE,
)
BUILT: Final = frozenset({ROLL_UP, *FOR_DENSITIES, *WITH_DENSITIES})
"""Those that are built as tables, since much reads them: a view is planned anew wherever it is named."""
COMMON: Final = (
    *(
        "item",
        "also",
        "kind",
        "sugar_pct",
        "sugar_low",
        "sugar_high",
        "acid_pct",
        "acid_low",
        "acid_high",
        "acid_kinds",
    ),
    *("abv_pct", "abv_low", "abv_high", "density_g_ml", "allergens", "source"),
)
"""Headings of a table of common ingredients; `also`: other plain names with semicolons between, `acid_kinds`: grams of
each in 100 g ('citric 4.66; malic 0.2')."""
COMMON_NUMBERS: Final = tuple(name for name in COMMON if name.endswith(("_pct", "_low", "_high", "_g_ml")))
COMMON_KINDS: Final = ("dissolves", "solid")
"""Whether what is in it ends up in a liquid as a whole."""
_NAMED: Final = re.compile(r"\b(?:FROM|JOIN)\s+(\w+)")


@dataclass(frozen=True, kw_only=True, eq=False)
class View:
    """One view."""

    name: str
    about: str
    """What a row of it is: the remark that its file begins with, up to an empty line."""
    columns: dict[str, str]
    """Column -> what it means: from the lines after that, of the form 'column: meaning'."""
    sql: str

    def meaning(self, column: str) -> str:
        """What a column means: as its file says, else as in every view; nothing where neither says."""
        return self.columns.get(column) or glossary().get(column, "")

    @property
    def reads(self) -> set[str]:
        """Every table, view or part of itself that it names."""
        return set(named_in(self.sql))


def named_in(sql: str) -> list[str]:
    """What a query reads, as often as it names it."""
    return _NAMED.findall(sql)


@cache
def glossary() -> dict[str, str]:
    """What columns mean in every view that says nothing else of them."""
    import tomllib

    return {**tomllib.loads((FOLDER / "columns.toml").read_text(encoding="utf-8"))}


def names() -> tuple[str, ...]:
    """Names of all views."""
    return tuple(sorted(path.stem for path in FOLDER.glob("*/*.sql")))


@cache
def views() -> tuple[View, ...]:
    """All views, each after those that it reads."""
    found = {path.stem: _read(path) for path in sorted(FOLDER.glob("*/*.sql"))}
    order = TopologicalSorter({name: sorted(view.reads & found.keys()) for name, view in found.items()})
    return tuple(found[name] for name in order.static_order())


def view(name: str) -> View:
    """One view."""
    return next(view for view in views() if view.name == name)


def _read(path: Path) -> View:
    remarks, lines = [], path.read_text(encoding="utf-8").splitlines()
    while lines[0].startswith("--"):
        remarks.append(lines.pop(0).removeprefix("--").removeprefix(" "))
    end = remarks.index("") if "" in remarks else len(remarks)
    columns: dict[str, str] = {}
    for remark in remarks[end + 1 :]:
        if remark.startswith(" "):
            columns[next(reversed(columns))] += f" {remark.strip()}"
        else:
            column, _, meaning = remark.partition(": ")
            columns[column] = meaning
    return View(name=path.stem, about=" ".join(remarks[:end]), columns=columns, sql="\n".join(lines))
