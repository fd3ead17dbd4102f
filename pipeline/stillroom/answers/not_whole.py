"""Cautions of the host's own: rows of a spec that were set aside, without which its figures are wrong in silence.

A line with a wrong unit is not in the spec book at all: cost, strength and allergens would look whole without it.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING, Any, Final

from stillroom.answers.aside_text import reason_text
from stillroom.names import name_key
from stillroom.objects import Caution, SpecFacts
from stillroom.store import frames

if TYPE_CHECKING:
    import duckdb

LINES: Final = "lines-set-aside"
VERSION: Final = "version-set-aside"
SOURCE: Final = "'stillroom aside' lists such rows"


def with_others(con: duckdb.DuckDBPyConnection, others: Iterable[Caution]) -> list[Caution]:
    """All cautions there are: the host's own, and those of plugins."""
    return [*cautions(frames.fetch(con, "SELECT * FROM spec_row_aside ORDER BY ALL").to_dicts()), *others]


def cautions(rows: Iterable[Mapping[str, Any]]) -> list[Caution]:
    """Two cautions: lines of a spec, or of what is in it, that are set aside; and a version of it that is.

    Args:
        rows: of the table `spec_row_aside`.
    """
    lines: dict[str, list[Mapping[str, Any]]] = {}
    versions: dict[str, list[Mapping[str, Any]]] = {}
    for row in rows:
        (lines if row["table_name"] == "spec_line" else versions).setdefault(row["name_key"], []).append(row)

    def lacks_lines(facts: SpecFacts) -> str | None:
        own = [row for row in lines.get(name_key(facts.spec), []) if row["version"] in (None, facts.version)]
        names = {name_key(item) for item in facts.items} - {name_key(facts.spec)}
        inner = [row for name in sorted(names) for row in lines.get(name, [])]
        return " ".join(
            _sentence("A line", row, "cost, strength and allergens lack what it says") for row in own + inner
        )

    def lacks_a_version(facts: SpecFacts) -> str | None:
        own = versions.get(name_key(facts.spec), [])
        return " ".join(_sentence("The row", row, "that version is not in the spec book") for row in own)

    return [
        Caution(name=LINES, title="Set aside", source=SOURCE, check=lacks_lines),
        Caution(name=VERSION, title="Version set aside", source=SOURCE, check=lacks_a_version),
    ]


def _sentence(what: str, row: Mapping[str, Any], so: str) -> str:
    version, why = row["written"] or "not given", reason_text(row)
    where = f"{row['file']}, row {row['row_number']}: {why}"
    return f"{what} of {row['spec']}, version {version}, is set aside, so {so} ({where})."
