"""A caution of the host's own: rows of a spec that were set aside, without which its figures are wrong in silence.

A line with a wrong unit is not in the spec book at all: cost, strength and allergens would look whole without it.
"""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from stillroom.aside_text import reason_text
from stillroom.house import House
from stillroom.objects import Caution, SpecFacts
from stillroom.store import ledger, waiting

if TYPE_CHECKING:
    import duckdb

NAME: Final = "set-aside"


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


def caution(rows: Iterable[WaitingRow]) -> Caution:
    """The caution that says of a spec which rows of it, and of what is in it, are set aside."""
    by_spec: dict[str, list[WaitingRow]] = {}
    for row in rows:
        by_spec.setdefault(_key(row.spec), []).append(row)

    def check(facts: SpecFacts) -> str | None:
        own = [row for row in by_spec.get(_key(facts.spec), []) if row.table == "spec" or row.is_of(facts.version)]
        names = {_key(item) for item in facts.items} - {_key(facts.spec)}
        inner = [row for name in sorted(names) for row in by_spec.get(name, []) if row.table == "spec_line"]
        return " ".join(_sentence(row) for row in (*own, *inner)) or None

    return Caution(name=NAME, title="Set aside", source="'stillroom aside' lists such rows", check=check)


def _sentence(row: WaitingRow) -> str:
    of = f"of {row.spec}, version {row.version or 'not given'},"
    if row.table == "spec":
        return f"The row {of} is set aside, so that version is not in the spec book ({row.said})."
    return f"A line {of} is set aside, so cost, strength and allergens lack what it says ({row.said})."


def _key(name: str) -> str:
    return " ".join(name.split()).lower()
