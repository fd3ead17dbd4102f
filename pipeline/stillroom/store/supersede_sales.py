"""Which till lines a newer export replaces: every line of a season counts once, however its exports were cut.

Only exports of one source are compared. A line that has the till's own identity gives way to one of the same identity.

For all others an export is taken at its word. Between its first and its last line of a venue it tells all that was sold
there on the business days of which it has any line: older lines in between give way, whether they come again or not. So
a correction or a late void changes its day, an export cut in mid-evening or at midnight leaves alone what lies outside
it, and a day of which an export tells nothing stays as it was.

At its first and at its last moment, an export may have been cut amid lines of the same second. There, lines give way
one for one to equal lines, and the rest stay. But where the newer export has a line that the older one has not, it was
corrected, and all give way; unless one of the two ends where the other begins: then they are two parts. Two exports
that never show two moments of one day tell of days, and are not cut amid one. Where only one of two exports gives lines
their identities, lines are equal that are so but for these.

Local time tells the doubled hour of autumn twice. Where an export begins or ends in it, that hour counts as one moment:
nobody can tell which lines of it lie before the cut.

What might be a cut is taken for one, so that nothing is lost: a line struck out without trace at the very beginning or
end of an export stays in force.

Each two files are compared by their own lines alone, whatever else is in the store, and of equal lines it is always the
same ones that give way. Hence the order in which exports come does not change what counts.
"""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING, Any, Final

from stillroom.store.doubled_hour import doubled_hours

if TYPE_CHECKING:
    import duckdb

ALL_OF_IT: Final = timedelta(hours=1, microseconds=-1)

BUSINESS_DATE: Final = "CAST(sold_at - to_minutes($day_starts) AS DATE)"
HOUR: Final = "date_trunc('hour', sale.sold_at)"
MOMENT: Final = f"CASE WHEN {HOUR} IN (SELECT unnest($doubled::TIMESTAMP[])) THEN {HOUR} ELSE sale.sold_at END"
"""When a line was sold, as far as the order of two lines can be told."""

FILES: Final = """
SELECT
    list(other.intake_id) FILTER (other.place = this.place) AS newer,
    list(other.intake_id) FILTER (other.place < this.place) AS older
FROM intake AS this
JOIN intake AS other ON other.source = this.source AND other.table_name = 'sale' AND other.undone_at IS NULL
WHERE this.intake_id = $intake
"""
"""A file and its corrections have one place, and are one export."""

SPAN: Final = """
WITH told AS (
    SELECT min(sold_at) AS begins, max(sold_at) AS ends, bool_or(line_id IS NOT NULL) AS with_identity
    FROM sale WHERE intake_id IN $newer GROUP BY lower(venue)
)
SELECT min(begins), max(ends), bool_or(with_identity), list(begins) || list(ends) FROM told
"""

OLDER_WITHIN: Final = """
SELECT EXISTS (
    FROM sale WHERE superseded_by IS NULL AND intake_id IN $older AND sold_at BETWEEN $begins AND $ends
)
"""
"""Nearly always an export begins where the last one ended, and the questions that ask for most need not be asked."""

SAME_IDENTITY: Final = """
UPDATE sale SET superseded_by = $intake
FROM (
    SELECT DISTINCT lower(venue) AS venue, lower(line_id) AS line_id FROM sale
    WHERE intake_id IN $newer AND line_id IS NOT NULL
) AS new
WHERE sale.superseded_by IS NULL AND sale.intake_id IN $older
AND lower(sale.line_id) = new.line_id AND lower(sale.venue) IS NOT DISTINCT FROM new.venue
"""

TOLD: Final = f"""
days AS (
    SELECT
        lower(venue) AS venue, {BUSINESS_DATE} AS business_date, min({MOMENT}) AS first, max({MOMENT}) AS last,
        min(sold_at) = max(sold_at) AS in_one_moment, bool_or(line_id IS NULL) AS without_identity
    FROM sale WHERE intake_id IN $newer GROUP BY ALL
),
told AS (
    -- The business days of which the newer export tells, and where it begins and ends at their venue.
    SELECT
        *, min(first) OVER whole AS begins, max(last) OVER whole AS ends,
        bool_and(in_one_moment) OVER whole AS days_only
    FROM days WINDOW whole AS (PARTITION BY venue)
)
"""

DAYS_ONLY: Final = f"WITH {TOLD} SELECT count(*) FROM told WHERE days_only"

FILE_AND_VENUE: Final = "concat(sale.intake_id, ' ', lower(sale.venue))"
SHOWING_MOMENTS: Final = f"""
WITH near AS (
    SELECT DISTINCT place FROM sale JOIN intake USING (intake_id)
    WHERE intake_id IN $older AND sold_at BETWEEN $begins AND $ends
)
SELECT unnest(list(DISTINCT {FILE_AND_VENUE}))
FROM sale JOIN intake USING (intake_id)
WHERE intake_id IN $older AND place IN (SELECT place FROM near)
GROUP BY place, lower(venue)
HAVING count(DISTINCT sold_at) > count(DISTINCT {BUSINESS_DATE})
"""
"""Older exports that show two moments of a day at a venue, each of their files with that venue."""

BETWEEN_ITS_ENDS: Final = f"""
WITH {TOLD}
UPDATE sale SET superseded_by = $intake
FROM told
WHERE sale.superseded_by IS NULL AND sale.intake_id IN $older AND sale.sold_at BETWEEN $begins AND $ends
AND lower(sale.venue) IS NOT DISTINCT FROM told.venue AND {BUSINESS_DATE} = told.business_date
AND {MOMENT} >= told.begins AND {MOMENT} <= told.ends
AND CASE
    WHEN told.days_only AND {FILE_AND_VENUE} NOT IN $showing_moments THEN TRUE
    ELSE {MOMENT} <> told.begins AND {MOMENT} <> told.ends
END
-- With an identity, only where the day has lines without one, too. (An OR would take the join five times as long.)
AND (sale.line_id IS NOT NULL) <= told.without_identity
"""

LINES_AT_ITS_ENDS: Final = f"""
moments AS (
    SELECT venue, begins AS moment, begins, ends, without_identity, days_only FROM told WHERE first = begins
    UNION
    SELECT venue, ends AS moment, begins, ends, without_identity, days_only FROM told WHERE last = ends
),
lines AS (
    -- What was sold at them, as each file has it: `copy` counts equal lines of a file, the first, the second ...
    SELECT
        place, moments.*, sale.rowid AS id, intake_id IN $newer AS is_new,
        struct_pack(sold_at, till_item, quantity, net_amount, check_id) AS line,
        row_number() OVER (PARTITION BY place, moments.venue, moment, line ORDER BY sale.rowid) AS copy,
        coalesce(line_id, '') AS identity,
        row_number() OVER (PARTITION BY place, moments.venue, moment, line, identity ORDER BY sale.rowid) AS same_copy,
        bool_or(line_id IS NOT NULL) OVER (PARTITION BY place, moments.venue, moment) AS named
    FROM sale
    JOIN moments ON {MOMENT} = moments.moment AND lower(sale.venue) IS NOT DISTINCT FROM moments.venue
    JOIN intake USING (intake_id)
    WHERE sale.sold_at BETWEEN $begins AND $ends AND
        (intake_id IN $newer OR (
            intake_id IN $older AND (line_id IS NULL OR without_identity)
            AND (NOT days_only OR {FILE_AND_VENUE} IN $showing_moments)
        ))
)
"""

AT_ITS_ENDS: Final = f"""
WITH {TOLD}, {LINES_AT_ITS_ENDS},
new AS (
    SELECT *, count(*) OVER (PARTITION BY venue, moment) AS lines_there FROM lines WHERE is_new
),
old AS (
    SELECT
        lines.*,
        new.id IS NOT NULL AS comes_again,
        count(new.id) OVER (PARTITION BY lines.place, lines.venue, lines.moment) AS coming_again
    FROM lines
    LEFT JOIN new
        ON new.moment = lines.moment AND new.venue IS NOT DISTINCT FROM lines.venue
        AND new.line = lines.line
        AND CASE
            WHEN new.named AND lines.named THEN new.identity = lines.identity AND new.same_copy = lines.same_copy
            ELSE new.copy = lines.copy
        END
    WHERE NOT lines.is_new
),
old_spans AS (
    SELECT place, lower(venue) AS venue, min({MOMENT}) AS begins, max({MOMENT}) AS ends
    FROM sale JOIN intake USING (intake_id)
    WHERE intake_id IN $older AND place IN (SELECT place FROM old)
    GROUP BY ALL
),
corrected AS (
    -- Where the newer export has a line that this older one has not, though neither ends where the other begins.
    SELECT DISTINCT old.place, old.venue, old.moment
    FROM old
    JOIN new ON new.moment = old.moment AND new.venue IS NOT DISTINCT FROM old.venue
    JOIN old_spans ON old_spans.place = old.place AND old_spans.venue IS NOT DISTINCT FROM old.venue
    WHERE old.coming_again < new.lines_there AND old_spans.ends <> old.begins AND old_spans.begins <> old.ends
),
replaced AS (
    SELECT old.id
    FROM old
    LEFT JOIN corrected
        ON corrected.place = old.place AND corrected.moment = old.moment
        AND corrected.venue IS NOT DISTINCT FROM old.venue
    WHERE old.comes_again OR corrected.place IS NOT NULL
)
UPDATE sale SET superseded_by = $intake
FROM replaced
WHERE sale.rowid = replaced.id AND sale.superseded_by IS NULL
"""


def mark_sales(con: duckdb.DuckDBPyConnection, intake_id: int) -> int:
    """Mark the lines of older exports that this one replaces; how many were marked."""
    newer, older = con.execute(FILES, {"intake": intake_id}).fetchall()[0]
    if not newer or not older:
        return 0
    begins, ends, with_identity, cuts = con.execute(SPAN, {"newer": newer}).fetchall()[0]
    if begins is None:  # nothing of it landed
        return 0
    day_starts, time_zone = con.execute("SELECT day_starts_minutes, time_zone FROM stillroom_store").fetchall()[0]
    doubled = doubled_hours(cuts, time_zone)
    facts = {"intake": intake_id, "newer": newer, "older": older, "day_starts": day_starts, "doubled": doubled}
    facts |= {"begins": min([begins, *doubled]), "ends": max([ends, *(hour + ALL_OF_IT for hour in doubled)])}
    updates = [SAME_IDENTITY] if with_identity else []
    if _asked(con, OLDER_WITHIN, facts):
        updates += [BETWEEN_ITS_ENDS, AT_ITS_ENDS]
        facts["showing_moments"] = _showing_moments(con, facts)
    return sum(_asked(con, update, facts) for update in updates)


def _showing_moments(con: duckdb.DuckDBPyConnection, facts: dict[str, object]) -> list[str]:
    """Only looked for where the newer export tells of days at a venue; never empty, for DuckDB to know its type."""
    if not _asked(con, DAYS_ONLY, facts):
        return [""]
    return ["", *(key for (key,) in _rows(con, SHOWING_MOMENTS, facts))]


def _asked(con: duckdb.DuckDBPyConnection, query: str, facts: dict[str, object]) -> int:
    return int(_rows(con, query, facts)[0][0])


def _rows(con: duckdb.DuckDBPyConnection, query: str, facts: dict[str, object]) -> list[tuple[Any, ...]]:
    return con.execute(query, {name: fact for name, fact in facts.items() if f"${name}" in query}).fetchall()
