"""Which lines of a till's exports count: every line of a season once, however its exports were cut.

Only exports of one source are compared, each two by their own lines alone. A line that has the till's own identity
gives way to one of the same identity in a later export. For all others a later export is taken at its word:

- Between its first and its last moment at a venue it tells all that was sold there on the business days of which it
  has any line: older lines give way, whether they come again or not. So a late void changes its day, and what an export
  does not reach stays as it was.
- At its first and its last moment it may have been cut amid lines of the same second: there, lines give way one for one
  to equal lines, and the rest stay.
- A new edition of the very same file that tells of every day that the one before told of, and reaches as far, is all
  that the file says (`outrun`).

So no line is lost, unless a later export covers its moment whole. The price of that: what was struck out or corrected
at the very first or last moment of an export stays in force beside an export of another name.

Local time tells the doubled hour of autumn twice. Where an export begins or ends in it, that hour counts as one moment:
nobody can tell which lines of it lie before the cut. Where only one of two exports gives lines their identities, lines
are equal that are so but for these.

`span` (what an export tells of) and `superseded` (rows out of force) can be thrown away: both are made again from rows.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any, Final

from stillroom.store import frames
from stillroom.store.doubled_hour import doubled_hours
from stillroom_schemas.table import Table

if TYPE_CHECKING:
    import duckdb

    from stillroom.store.in_force import Standing

DAY: Final = "CAST({} - to_minutes($day_starts) AS DATE)"

SPAN: Final = """
INSERT INTO span
WITH part AS (
    -- Identities by their length first: as numbers go that are written without zeros in front.
    SELECT
        {venue} AS venue, {day} AS business_date, length("{identity}") AS letters,
        min("{at}") AS first_at, max("{at}") AS last_at, min({name}) AS low, max({name}) AS high
    FROM "{table}" AS t WHERE intake_id = $intake GROUP BY 1, 2, 3
),
days AS (
    SELECT
        venue, business_date, min(first_at) AS first_at, max(last_at) AS last_at,
        bool_or(letters IS NULL) AS has_nameless,
        min(printf('%09d', letters) || low) AS low, max(printf('%09d', letters) || high) AS high
    FROM part GROUP BY 1, 2
)
SELECT
    $intake, venue, business_date, first_at, last_at, has_nameless, min(low) OVER here, max(high) OVER here,
    min(first_at) OVER here, min(first_at) OVER here, max(last_at) OVER here, max(last_at) OVER here
FROM days WINDOW here AS (PARTITION BY venue)
RETURNING begins_from, ends_from
"""
IN_DOUBLED_HOUR: Final = """
UPDATE span SET {end}_from = $first_told, {end}_until = $last_told WHERE intake_id = $intake AND {end}_from = $at
"""

PAIRS: Final = """
    FROM span AS new
    JOIN standing AS new_file ON new_file.intake_id = new.intake_id
    JOIN standing AS old_file ON old_file.source = new_file.source AND old_file.table_name = new_file.table_name
        AND old_file.place < new_file.place
    JOIN span AS old ON old.intake_id = old_file.intake_id AND old.venue = new.venue
    WHERE list_contains($newer, new.intake_id)
"""
MEET: Final = """
SELECT 1 FROM span AS new JOIN span AS old USING (venue)
WHERE list_contains($newer, new.intake_id) AND list_contains($ours, old.intake_id) AND new.intake_id <> old.intake_id
AND (
    (old.first_at <= new.ends_until AND old.last_at >= new.begins_from)
    OR (old.lowest_name <= new.highest_name AND old.highest_name >= new.lowest_name)
)
LIMIT 1
"""
BETWEEN_ENDS: Final = f"""
CREATE OR REPLACE TEMP TABLE covered AS
SELECT
    old.intake_id AS older, new.venue, new.business_date, new.begins_until AS after, new.ends_from AS before,
    new.has_nameless
{PAIRS} AND old.business_date = new.business_date
    AND old.last_at > new.begins_until AND old.first_at < new.ends_from
"""
AT_ENDS: Final = f"""
CREATE OR REPLACE TEMP TABLE edge AS
WITH pair AS (
    SELECT DISTINCT
        old.intake_id AS older, new.intake_id AS newer, new.venue, old.first_at, old.last_at,
        old.lowest_name IS NOT NULL AND new.lowest_name IS NOT NULL AS by_name,
        unnest([new.begins_from, new.ends_from]) AS begins, unnest([new.begins_until, new.ends_until]) AS ends
    {PAIRS}
)
SELECT DISTINCT older, newer, venue, begins, ends, by_name FROM pair WHERE first_at <= ends AND last_at >= begins
"""
NAMES_MEET: Final = f"""
CREATE OR REPLACE TEMP TABLE named AS
SELECT DISTINCT old.intake_id AS older, new.intake_id AS newer, new.venue
{PAIRS} AND old.lowest_name <= new.highest_name AND old.highest_name >= new.lowest_name
"""

WITHOUT_SPAN: Final = """
SELECT file, day_starts_minutes, time_zone FROM (SELECT unnest(?::INTEGER[]) AS file), stillroom_store
WHERE file NOT IN (SELECT intake_id FROM span)
"""
TOLD_BY_OLD_ALONE: Final = """
SELECT 1 FROM span AS old
LEFT JOIN span AS new ON new.intake_id = ? AND new.venue = old.venue AND new.business_date = old.business_date
WHERE old.intake_id = ?
AND (new.begins_from <= old.begins_from AND new.ends_until >= old.ends_until) IS NOT TRUE
LIMIT 1
"""

OUT_OF_FORCE: Final = """
INSERT INTO superseded
WITH line AS (
    SELECT
        t.intake_id, t.row_number, t.cell_number, {venue} AS venue, t."{at}" AS moment, {name} AS name,
        struct_pack({alike}) AS alike
    FROM "{table}" AS t WHERE list_contains($files, t.intake_id) AND t."{at}" BETWEEN $begins AND $ends
),
old_line AS (
    SELECT
        edge.older, edge.newer, line.*,
        row_number() OVER (
            PARTITION BY edge.older, edge.newer, line.venue, alike ORDER BY name IS NOT NULL, row_number, cell_number
        ) AS copy
    FROM line JOIN edge ON edge.older = intake_id AND edge.venue = line.venue AND moment BETWEEN begins AND ends
    WHERE name IS NULL OR NOT by_name
),
told AS (
    SELECT edge.older, edge.newer, line.venue, alike, count(*) AS copies
    FROM line JOIN edge ON edge.newer = intake_id AND edge.venue = line.venue AND moment BETWEEN begins AND ends
    WHERE name IS NULL OR NOT by_name
    GROUP BY ALL
),
out AS (
    SELECT intake_id, row_number, cell_number FROM line
    WHERE EXISTS (
        FROM covered WHERE older = intake_id AND covered.venue = line.venue AND business_date = {line_day}
        AND moment > after AND moment < before
        -- With an identity, only where the day has lines without one, too.
        AND (name IS NULL OR has_nameless)
    )
    UNION
    SELECT intake_id, row_number, cell_number
    FROM old_line JOIN told USING (older, newer, venue, alike) WHERE copy <= copies
)
FROM out ANTI JOIN superseded USING (intake_id, row_number, cell_number)
"""
SAME_NAME: Final = """
INSERT INTO superseded
WITH new AS (
    SELECT DISTINCT older, named.venue, {name} AS name
    FROM "{table}" AS t JOIN named ON newer = t.intake_id AND named.venue = {venue}
    WHERE list_contains($newer_files, t.intake_id)
)
SELECT t.intake_id, t.row_number, t.cell_number
FROM "{table}" AS t SEMI JOIN new ON older = t.intake_id AND new.venue = {venue} AND new.name = {name}
ANTI JOIN superseded USING (intake_id, row_number, cell_number)
WHERE list_contains($files, t.intake_id)
"""


def outrun(con: duckdb.DuckDBPyConnection, table: Table, files: Sequence[Standing]) -> set[int]:
    """Of these files, in their order, the editions of which a later one of the same file says all anew.

    Must run inside a transaction.
    """
    editions: dict[tuple[str, str], list[int]] = {}
    for one in files:
        editions.setdefault((one.source, one.file), []).append(one.intake_id)
    found = set()
    for several in editions.values():
        if len(several) > 1:
            _complete_spans(con, table, several)
            with_rows = [
                old for old in several if frames.one_row(con, "SELECT 1 FROM span WHERE intake_id = ? LIMIT 1", [old])
            ]
            pairs = [(old, new) for old in with_rows for new in several[several.index(old) + 1 :]]
            found |= {old for old, new in pairs if not con.execute(TOLD_BY_OLD_ALONE, [new, old]).fetchall()}
    return found


def follow(con: duckdb.DuckDBPyConnection, table: Table, now: Sequence[Standing], before: Sequence[Standing]) -> None:
    """Bring the rows out of force up to date, after the files that stand have changed from `before` to `now`.

    A file at the end of the order is only compared with those before it; else a source's files are all compared anew.
    """
    compared = []
    for source in {one.source for one in (*now, *before)}:
        ours, past = ([one for one in some if one.source == source] for some in (now, before))
        if ours == past:
            continue
        newer = ours
        if ours[:-1] == past:
            newer = ours[-1:]
        else:
            con.execute(
                "DELETE FROM superseded WHERE list_contains(?, intake_id)", [[i.intake_id for i in (*ours, *past)]]
            )
        compared.append(([one.intake_id for one in ours], [one.intake_id for one in newer]))
    for files, new in compared:  # only now: a file may have been another source's before
        _follow(con, table, files, new)


def follow_last(con: duckdb.DuckDBPyConnection, table: Table, source: str, intake_id: int) -> int:
    """Bring the rows out of force up to date, after a source's file was put behind all others; how many it puts out."""
    asked = "SELECT intake_id FROM standing WHERE table_name = ? AND source = ?"
    ours = [file for (file,) in con.execute(asked, [table.name, source]).fetchall()]
    return _follow(con, table, ours, [intake_id])


def _follow(con: duckdb.DuckDBPyConnection, table: Table, ours: list[int], newer: list[int]) -> int:
    if len(ours) < 2:
        return 0
    _complete_spans(con, table, ours)
    # Mostly each export tells of days of its own, and that is cheap to see.
    meet = con.execute(MEET, {"ours": ours, "newer": newer}).fetchall()
    return _compare(con, table, newer) if meet else 0


def counting(con: duckdb.DuckDBPyConnection, table: Table, at: str = "") -> str:
    """The rows in force, in SQL. Files none of whose rows is out of force are read without a look at these."""
    files = con.execute(
        f"SELECT intake_id, intake_id IN (SELECT intake_id FROM {at}superseded) FROM {at}standing "
        "WHERE table_name = ? ORDER BY intake_id",
        [table.name],
    ).fetchall()
    whole, cut = (", ".join(str(file) for file, some_out in files if some_out == out) for out in (False, True))
    rows = f'SELECT * FROM {at}"{table.name}" WHERE intake_id IN ({whole or "NULL"})'
    if cut:
        rows += (
            f' UNION ALL SELECT t.* FROM {at}"{table.name}" AS t '
            f"ANTI JOIN {at}superseded USING (intake_id, row_number, cell_number) WHERE t.intake_id IN ({cut})"
        )
    return rows


def _complete_spans(con: duckdb.DuckDBPyConnection, table: Table, files: Sequence[int]) -> None:
    """Work out what those files tell of whose spans are not known yet."""
    for file, day_starts, time_zone in con.execute(WITHOUT_SPAN, [files]).fetchall():
        ends = con.execute(_for(table, SPAN), {"intake": file, "day_starts": day_starts}).fetchall()
        for at, first, last in doubled_hours({at for both in ends for at in both}, time_zone):
            for end in ("begins", "ends"):
                facts = {"intake": file, "at": at, "first_told": first, "last_told": last}
                con.execute(IN_DOUBLED_HOUR.format(end=end), facts)


def _compare(con: duckdb.DuckDBPyConnection, table: Table, newer: list[int]) -> int:
    """Note the rows that these files put out of force, which were in force till now; how many."""
    out = 0
    for pairs in (BETWEEN_ENDS, AT_ENDS, NAMES_MEET):
        con.execute(pairs, {"newer": newer})
    day_starts = frames.one_value(con, "SELECT day_starts_minutes FROM stillroom_store")
    begins, ends, files = con.execute(
        """
        SELECT min(begins), max(ends), list(DISTINCT file) FROM (
            SELECT after AS begins, before AS ends, older AS file FROM covered
            UNION ALL SELECT begins, ends, unnest([older, newer]) FROM edge
        )
        """
    ).fetchall()[0]
    if files:
        facts = {"begins": begins, "ends": ends, "files": files, "day_starts": day_starts}
        out += con.execute(_for(table, OUT_OF_FORCE), facts).fetchall()[0][0]
    older, newer_files = con.execute("SELECT list(DISTINCT older), list(DISTINCT newer) FROM named").fetchall()[0]
    if older:
        out += con.execute(_for(table, SAME_NAME), {"files": older, "newer_files": newer_files}).fetchall()[0][0]
    return out


def _for(table: Table, query: str) -> str:
    """A query with the table's own columns."""
    assert table.export is not None
    export = table.export
    words: dict[str, Any] = {
        "table": table.name,
        "at": export.at,
        "identity": export.identity,
        "venue": f"coalesce(lower(t.\"{export.venue}\"), '')",
        "name": f'lower(t."{export.identity}")',
        "alike": ", ".join(f'"{column}"' for column in export.alike),
        "day": DAY.format(f'"{export.at}"'),
        "line_day": DAY.format("moment"),
    }
    return query.format(**words)
