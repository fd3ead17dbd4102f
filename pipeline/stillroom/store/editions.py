"""What an intake changes of what counted before it: for those who watch."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

from stillroom.house.decisions import Edition
from stillroom.store import in_force, ledger
from stillroom_schemas.table import Table

if TYPE_CHECKING:
    import duckdb

SAME_FILE: Final = """
    intake_id IN (SELECT intake_id FROM standing WHERE source = ? AND file = ?) AND sha256 <> ? AND table_name = ?
"""
ONLY_ONE_HAS: Final = """
    WITH told AS (SELECT intake_id, {compared} AS key, {shown} AS shown, {rest} AS rest FROM "{table}" AS t)
    SELECT min(shown), min(rest) FROM told
    WHERE intake_id = $this AND key NOT IN (SELECT key FROM told WHERE intake_id = $other)
    GROUP BY key ORDER BY 1
"""


@dataclass(frozen=True)
class Before:
    """What counted before a file was taken in."""

    rows: Mapping[int, int]
    """Intake -> its rows in force, of the file's table."""
    edition_before: ledger.Entry | None
    """The edition of the same file that stood last."""


NOTHING_BEFORE: Final = Before({}, None)
"""Of a file that covers others, but changes nothing besides (`in_force.comes_last`)."""


@dataclass(frozen=True, kw_only=True)
class Change:
    """What became of what counted before."""

    superseded: int
    kept_of_older: int
    went: tuple[str, ...] = ()
    came: tuple[str, ...] = ()
    renamed: tuple[tuple[str, str], ...] = ()
    """Key before and key now of rows that say the same besides, and that no other row is like."""


def before(con: duckdb.DuckDBPyConnection, tables: Mapping[str, Table], table: Table, edition: Edition) -> Before:
    """What counts before an edition is taken in."""
    same_file = ledger.entries(con, SAME_FILE, (*edition, table.name))
    return Before(in_force.counts(con, tables, table.name), same_file[-1] if same_file else None)


def change(
    con: duckdb.DuckDBPyConnection,
    tables: Mapping[str, Table],
    table: Table,
    entry: ledger.Entry,
    before: Before,
    *,
    kept: bool,
) -> Change:
    """What an intake that has landed changed; `kept`: its file is kept by hand."""
    if not before.rows and before.edition_before is None:
        return Change(superseded=0, kept_of_older=0)
    after = in_force.counts(con, tables, table.name)
    own = {one.intake_id for one in ledger.readings(con, entry.edition)}
    older = {one.intake_id for one in ledger.entries(con, SAME_FILE, (*entry.edition, table.name))}
    found = Change(
        superseded=sum(max(0, rows - after.get(one, 0)) for one, rows in before.rows.items() if one not in own),
        kept_of_older=sum(after.get(one, 0) for one in older),
    )
    if not kept or before.edition_before is None:
        return found
    new, old = entry.intake_id, before.edition_before.intake_id
    went, came = _only_one_has(con, table, old, new), _only_one_has(con, table, new, old)
    renamed = _renamed(went, came) if table.key else {}
    return replace(
        found,
        went=tuple(key for key in went if key not in renamed),
        came=tuple(key for key in came if key not in renamed.values()),
        renamed=tuple(renamed.items()),
    )


def _renamed(went: Mapping[str, str], came: Mapping[str, str]) -> dict[str, str]:
    """Key before -> key now, where one row went and one came that say the same."""
    before, now = (Counter(rows.values()) for rows in (went, came))
    by_rest = {rest: key for key, rest in came.items()}
    return {key: by_rest[rest] for key, rest in went.items() if before[rest] == now[rest] == 1}


def _only_one_has(con: duckdb.DuckDBPyConnection, table: Table, this: int, other: int) -> dict[str, str]:
    """Rows by their key (or all of their cells) that one intake has and another has not; each with its other cells."""
    columns = table.key or tuple(table.schema().columns)
    others = [name for name in table.schema().columns if name not in columns]
    compared = in_force.folded(table, columns)
    query = ONLY_ONE_HAS.format(
        table=table.name,
        compared="concat_ws(chr(31), {})".format(
            ", ".join(f"coalesce(CAST({one} AS VARCHAR), '')" for one in compared)
        ),
        shown="concat_ws(', ', {})".format(", ".join(f't."{column}"' for column in columns)),
        rest="concat_ws(chr(31), '', {})".format(
            ", ".join([f"coalesce(CAST(t.\"{column}\" AS VARCHAR), '')" for column in others] or ["''"])
        ),
    )
    return dict(con.execute(query, {"this": this, "other": other}).fetchall())
