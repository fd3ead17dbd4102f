"""Which rows count: worked out from the rows, the ledger and the decisions, and never written onto a row.

A row is in force where its file stands, its partners are in force, and no file that stands later in the order of files
covers it. What covers what is the table's to say: files kept by hand and all but exports cover the ground that they
have rows on (`Table.ground`); exports cover moments (`store.exports`).

`standing` (which files stand, in order) is a table that can be thrown away: `refresh` makes it again.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, Final, NamedTuple

from stillroom.house.decisions import Decisions, Edition, Name
from stillroom.names import key_in_sql
from stillroom.naming import without_sheet
from stillroom.store import exports, frames, layout, ledger
from stillroom_schemas.table import Reference, Table

if TYPE_CHECKING:
    import duckdb

    from stillroom.house.house import House


class Standing(NamedTuple):
    """An intake whose rows may count."""

    intake_id: int
    table_name: str
    source: str
    """The one that reads its file by now."""
    file: str
    """As it is called by now."""
    place: int
    """In the order of files."""
    book: int
    """The last place of all sheets of its workbook; of any other file its own."""


COUNT_OF_EXPORTS: Final = """
    SELECT intake_id, any_value(rows_landed) - count(superseded.intake_id)
    FROM standing JOIN intake USING (intake_id) LEFT JOIN superseded USING (intake_id)
    WHERE standing.table_name = ? GROUP BY intake_id
"""

OTHERS: Final = """
    SELECT 1 FROM standing WHERE place >= $1 UNION ALL SELECT 1 FROM intake WHERE source = $2 AND starts_with(file, $3)
    LIMIT 1
"""
"""What stands behind a place, or was taken in of the same file, or of one whose name begins as its name."""

STATES: Final = ("in force", "replaced", "undone", "gone", "renamed")


def states(
    con: duckdb.DuckDBPyConnection,
    entries: Sequence[ledger.Entry],
    tables: Mapping[str, Table],
    decisions: Decisions,
    kept: Callable[[str, str], bool],
    sources: Collection[str],
) -> dict[int, str]:
    """Intake -> one of STATES.

    Args:
        sources: those that the settings have.
        kept: whether a source's files of a table are kept by hand: the newest edition of such a file is all there is.
    """
    found: dict[int, str] = {}
    newest: dict[Name, ledger.Entry] = {}
    there = []
    in_order = sorted(_by_edition(entries, decisions, found), key=lambda one: decisions.place(one[0]) or 0)
    for edition, entry in in_order:
        if decisions.replaces_older(edition):
            newest[file_of(entry, decisions)] = entry
        if decisions.stands(edition):
            there.append(entry)
            continue
        why = (("undone", decisions.undone), ("gone", decisions.gone), ("renamed", decisions.moved))
        found[entry.intake_id] = next((state for state, editions in why if edition in editions), "replaced")
    for entry in there:
        last = newest[file_of(entry, decisions)]
        is_last = (entry.source, entry.content) == (last.source, last.content)
        outdated = kept(entry.source, entry.table_name) and not is_last
        found[entry.intake_id] = "replaced" if outdated else "in force"
    here = standing(entries, found, decisions, sources)
    for table in (one for one in tables.values() if one.export is not None):
        outrun = exports.outrun(con, table, [one for one in here if one.table_name == table.name])
        found |= dict.fromkeys(outrun, "replaced")
    return found


def file_of(entry: ledger.Entry, decisions: Decisions) -> Name:
    """The source that reads its file by now, and what that is called, without a sheet."""
    source, file = decisions.file_of(entry.edition)
    return source, without_sheet(file, entry.sheet)


def _by_edition(
    entries: Iterable[ledger.Entry], decisions: Decisions, found: dict[int, str]
) -> Iterator[tuple[Edition, ledger.Entry]]:
    """Of each edition the intake that counts; the others are put down as replaced."""
    readings: dict[Edition, list[ledger.Entry]] = {}
    for entry in entries:
        readings.setdefault(entry.edition, []).append(entry)
        found[entry.intake_id] = "replaced"
    for edition, several in readings.items():
        chosen = ledger.chosen(several, decisions.corrections_id(edition))
        assert chosen is not None
        yield edition, chosen


def standing(
    entries: Sequence[ledger.Entry], state: Mapping[int, str], decisions: Decisions, sources: Collection[str]
) -> list[Standing]:
    """The intakes whose rows may count, in the order of files; `state`, `sources`: as of `states`."""
    here = [(decisions.place(one.edition) or 0, one) for one in entries if state[one.intake_id] == "in force"]
    books: dict[tuple[str, str, str], int] = {}
    for place, one in here:
        key = (one.source, one.path, one.content)
        books[key] = max(place, books.get(key, 0))
    return sorted(
        (
            Standing(
                one.intake_id,
                one.table_name,
                decisions.reader(source, sources),
                file,
                place,
                books[one.source, one.path, one.content],
            )
            for place, one in here
            for source, file in [decisions.file_of(one.edition)]
        ),
        key=lambda one: (one.place, one.intake_id),
    )


@dataclass(frozen=True, kw_only=True)
class LedgerLine:
    """A line of the ledger as people read it."""

    entry: ledger.Entry
    state: str
    """One of STATES."""
    first_day: date | None
    """The day on which the file was first taken in."""


def lines(con: duckdb.DuckDBPyConnection, house: House, tables: Mapping[str, Table]) -> list[LedgerLine]:
    """The whole ledger, and whether each intake counts."""
    entries, decisions = ledger.entries(con), Decisions.load(house.folder)
    state = states(con, entries, tables, decisions, kept_by(house, tables), _sources(house))
    return [
        LedgerLine(entry=one, state=state[one.intake_id], first_day=decisions.first_days.get(one.edition))
        for one in entries
    ]


def _sources(house: House) -> frozenset[str]:
    return frozenset(source.name for source in house.sources)


def kept_by(house: House, tables: Mapping[str, Table]) -> Callable[[str, str], bool]:
    """Whether the files of a source (its name) that fill a table (its name) are kept by hand."""
    said = {source.name: source.kept for source in house.sources if source.kept is not None}
    return lambda source, table: said.get(source, table in tables and tables[table].kept)


def refresh(con: duckdb.DuckDBPyConnection, house: House, tables: Mapping[str, Table], decisions: Decisions) -> bool:
    """Bring `standing`, and what follows from it, up to date with the ledger and the decisions; whether it changed.

    Must run inside a transaction.
    """
    import polars as pl

    entries, sources = ledger.entries(con), _sources(house)
    state = states(con, entries, tables, decisions, kept_by(house, tables), sources)
    now = standing(entries, state, decisions, sources)
    before = [Standing(*row) for row in con.execute("FROM standing ORDER BY place, intake_id").fetchall()]
    if now == before:
        return False
    con.execute("DELETE FROM standing")
    frames.insert(con, "standing", pl.DataFrame(now, schema=list(Standing._fields), orient="row"))
    for table in tables.values():
        if table.export is not None:
            ours = [one for one in now if one.table_name == table.name]
            exports.follow(con, table, ours, [one for one in before if one.table_name == table.name])
    return True


def comes_last(con: duckdb.DuckDBPyConnection, edition: Edition, decisions: Decisions) -> bool:
    """Whether an edition that is about to land stands behind all that stand, the first and only one of its file.

    Then nothing changes for others but what it covers: `put_last` does what `refresh` would, and looks at it alone.
    """
    _, _, sheet = edition.content.partition(" ")
    asked = [decisions.place(edition), edition.source, without_sheet(edition.file, sheet or None)]
    alone = decisions.stands(edition) and decisions.editions(edition[:2]) == [edition]
    return alone and frames.one_row(con, OTHERS, asked) is None


def put_last(
    con: duckdb.DuckDBPyConnection, table: Table, tables: Mapping[str, Table], entry: ledger.Entry, decisions: Decisions
) -> int:
    """Let an intake count of which `comes_last` is so; how many rows of others it puts out of force.

    Must run inside the transaction in which it has landed.
    """
    place = decisions.place(entry.edition)
    covered = 0
    if table.export is None and table.ground:
        there, new = folded(table, table.ground), folded(table, table.ground, "n")
        same = " AND ".join(f"{one} IS NOT DISTINCT FROM {other}" for one, other in zip(there, new, strict=True))
        rows = f'FROM "{table.name}" AS n WHERE n.intake_id = ?'
        asked = f"SELECT count(*) FROM ({query(con, table, tables)}) AS t WHERE EXISTS (SELECT 1 {rows} AND {same})"
        covered = frames.one_value(con, asked, [entry.intake_id])
    line = Standing(entry.intake_id, table.name, entry.source, entry.file, place or 0, place or 0)
    con.execute("INSERT INTO standing VALUES (?, ?, ?, ?, ?, ?)", list(line))
    return covered if table.export is None else exports.follow_last(con, table, entry.source, entry.intake_id)


def counts(con: duckdb.DuckDBPyConnection, tables: Mapping[str, Table], *names: str) -> dict[int, int]:
    """Intake that stands -> how many of its rows are in force; of these tables, or of all."""
    found: dict[int, int] = {}
    stands = {name for (name,) in con.execute("SELECT DISTINCT table_name FROM standing").fetchall()}
    for table in (tables[name] for name in names or layout.unchanged(con, tables) if name in stands):
        if table.export is not None:
            found |= dict(con.execute(COUNT_OF_EXPORTS, [table.name]).fetchall())
        else:
            rows = con.execute(f"SELECT intake_id, count(*) FROM ({query(con, table, tables)}) GROUP BY 1")
            found |= dict(rows.fetchall())
    return found


def query(con: duckdb.DuckDBPyConnection, table: Table, tables: Mapping[str, Table], at: str = "") -> str:
    """The rows of a table in force, in SQL: its columns, intake_id, file and row_number.

    `at`: the database that the tables are in, with a dot after it, where it is another one.
    """
    partners = [_has_partner(con, table, reference, tables, at) for reference in table.references]
    where = " AND ".join(partners) or "TRUE"
    if table.export is not None:
        return f"SELECT t.* EXCLUDE (cell_number) FROM ({exports.counting(con, table, at)}) AS t WHERE {where}"
    rows = (
        f'SELECT t.* EXCLUDE (cell_number) FROM {at}"{table.name}" AS t '
        f"JOIN {at}standing AS standing ON standing.intake_id = t.intake_id WHERE {where}"
    )
    latest = []
    if table.ground:
        latest.append(_latest("standing.book", folded(table, table.ground)))
        if _has_sheets(con, table, at):  # sheets are parts of one book: only what they tell twice counts once
            told = folded(table, table.key or tuple(table.schema().columns))
            latest.append(_latest("standing.place", ["standing.book", *told]))
    return f"{rows} QUALIFY {' AND '.join(latest)}" if latest else rows


def _latest(order: str, by: Sequence[str]) -> str:
    return f"{order} = max({order}) OVER (PARTITION BY {', '.join(by)})"


def folded(table: Table, columns: Iterable[str], alias: str = "t") -> list[str]:
    """Columns in SQL as they are compared: names by their keys, identities without case."""
    schema, texts = table.schema().columns, table.texts()

    def compared(column: str) -> str:
        own = f'{alias}."{column}"' if alias else f'"{column}"'
        if column not in texts:
            return own
        return f"lower({own})" if (schema[column].metadata or {}).get("identity") else key_in_sql(own)

    return [compared(column) for column in columns]


def _has_sheets(con: duckdb.DuckDBPyConnection, table: Table, at: str) -> bool:
    asked = f"SELECT 1 FROM {at}standing WHERE table_name = ? AND place < book LIMIT 1"
    return frames.one_row(con, asked, [table.name]) is not None


def _has_partner(
    con: duckdb.DuckDBPyConnection, table: Table, reference: Reference, tables: Mapping[str, Table], at: str
) -> str:
    partner = tables[reference.table]
    pairs = zip(folded(table, reference.columns), folded(partner, reference.table_columns, "p"), strict=True)
    same = " AND ".join(f"{ours} = {theirs}" for ours, theirs in pairs)
    if reference.not_before:
        ours, theirs = reference.not_before
        same += f' AND (t."{ours}" < p."{theirs}") IS NOT TRUE'
    return f"EXISTS (SELECT 1 FROM ({query(con, partner, tables, at)}) AS p WHERE {same})"
