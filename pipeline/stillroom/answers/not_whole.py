"""Cautions of the host's own: rows of a spec that were set aside, without which its figures are wrong in silence.

A line with a wrong unit is not in the spec book at all: cost, strength and allergens would look whole without it.
"""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from stillroom.answers.aside_text import reason_text
from stillroom.house.house import House
from stillroom.objects import Caution, SpecFacts
from stillroom.store import ledger, waiting

if TYPE_CHECKING:
    import duckdb

LINES: Final = "lines-set-aside"
VERSION: Final = "version-set-aside"
SOURCE: Final = "'stillroom aside' lists such rows"


@dataclass(frozen=True, kw_only=True)
class WaitingRow:
    """A row of the spec book that waits to be corrected."""

    spec: str
    version: str
    """As written: it may be what is wrong with the row."""
    table: str
    """spec_line or spec."""
    said: str
    """Where it is, and why it was set aside."""

    def is_of(self, version: int) -> bool:
        """Whether it is, or may be, a row of that version: what is no number may be any."""
        written = self.version.strip()
        return not written.isdecimal() or int(written) == version


def waiting_rows(con: duckdb.DuckDBPyConnection, house: House) -> tuple[WaitingRow, ...]:
    """The rows of the spec book that are set aside, each once, by file and row."""
    columns = {source.name: source.columns for source in house.sources}
    sources = {
        e.intake_id: (e.source, e.table_name) for e in ledger.entries(con, "table_name IN ('spec', 'spec_line')")
    }
    found: dict[tuple[int, int], WaitingRow] = {}
    for row in waiting.open_rows(con).iter_rows(named=True):
        if row["intake_id"] not in sources:
            continue
        source, table = sources[row["intake_id"]]
        cells = {heading.casefold(): cell for heading, cell in json.loads(row["row"]).items()}
        spec, version = (
            " ".join(cells.get(heading.casefold()) or "" for heading in columns.get(source, {}).get(name, (name,)))
            for name in ("spec", "version")
        )
        waits = WaitingRow(
            spec=spec,
            version=version,
            table=table,
            said=f"{row['file']}, row {row['row_number']}: {reason_text(row)}",
        )
        found.setdefault((row["intake_id"], row["row_number"]), waits)
    return tuple(found.values())


def with_others(con: duckdb.DuckDBPyConnection, house: House, others: Iterable[Caution]) -> list[Caution]:
    """All cautions there are: the host's own, and those of plugins."""
    return [*cautions(waiting_rows(con, house)), *others]


def cautions(rows: Iterable[WaitingRow]) -> list[Caution]:
    """Two cautions: lines of a spec, or of what is in it, that are set aside; and a version of it that is."""
    lines: dict[str, list[WaitingRow]] = {}
    versions: dict[str, list[WaitingRow]] = {}
    for row in rows:
        (lines if row.table == "spec_line" else versions).setdefault(_key(row.spec), []).append(row)

    def lacks_lines(facts: SpecFacts) -> str | None:
        own = [row for row in lines.get(_key(facts.spec), []) if row.is_of(facts.version)]
        names = {_key(item) for item in facts.items} - {_key(facts.spec)}
        inner = [row for name in sorted(names) for row in lines.get(name, [])]
        return " ".join(
            _sentence("A line", row, "cost, strength and allergens lack what it says") for row in own + inner
        )

    def lacks_a_version(facts: SpecFacts) -> str | None:
        own = versions.get(_key(facts.spec), [])
        return " ".join(_sentence("The row", row, "that version is not in the spec book") for row in own)

    return [
        Caution(name=LINES, title="Set aside", source=SOURCE, check=lacks_lines),
        Caution(name=VERSION, title="Version set aside", source=SOURCE, check=lacks_a_version),
    ]


def _sentence(what: str, row: WaitingRow, so: str) -> str:
    return f"{what} of {row.spec}, version {row.version or 'not given'}, is set aside, so {so} ({row.said})."


def _key(name: str) -> str:
    return " ".join(name.split()).lower()
