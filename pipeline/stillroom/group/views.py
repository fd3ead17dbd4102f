"""What reports on a group read: statements in Spark SQL on the tables of facts, each of them of the answer's size.

A statement is answered by Spark, and by DuckDB through sqlglot with equal results. Names that differ in case or accents
alone are one thing (the columns `_key`), spelt as most houses spell it. `{first}` and `{last}`: the days looked at.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from stillroom.group.facts import COLUMNS
from stillroom.objects import Period

_SQUARES: Final = """
    CAST(count(*) AS BIGINT) AS units, sum(part) AS part, sum(whole) AS whole, sum(part * part) AS part_squared,
    sum(whole * whole) AS whole_squared, sum(part * whole) AS both
"""
"""What `analysis.houses.scatter` needs of a house's units, its weeks."""

_GONE: Final = "used + lost + unexplained"
"""Of what was made: what is not on hand any more."""


def _named(what: str, source: str, also: str = "") -> str:
    """Key -> the spelling that most houses have."""
    keys = f"{what}_key, {also}" if also else f"{what}_key"
    return f"""
        SELECT {keys}, {what} FROM (
            SELECT
                {keys}, {what},
                row_number() OVER (PARTITION BY {keys} ORDER BY count(DISTINCT house) DESC, {what}) AS place
            FROM {source} GROUP BY {keys}, {what}
        ) AS spelt WHERE place = 1
    """


_VERSIONS: Final = """
    SELECT house, drink_key AS spec_key, drink AS spec, 'drink' AS kind, version, day AS at
    FROM daily_serves WHERE version IS NOT NULL AND serves > 0 AND day <= {last}
    UNION ALL
    SELECT house, preparation_key, preparation, 'preparation', version, made_on
    FROM batch_fates WHERE version IS NOT NULL AND made_on <= {last}
"""

STATEMENTS: Final[Mapping[str, str]] = {
    "house_books": """
        WITH sold AS (
            SELECT house, sum(serves) AS serves, sum(net_takings) AS net_takings, count(DISTINCT day) AS days
            FROM daily_serves WHERE day BETWEEN {first} AND {last} GROUP BY house
        ), made AS (
            SELECT
                house, sum(made_money) AS made_money, sum(lost_money) AS lost_money,
                sum(CASE WHEN made > 0 THEN abs(unexplained) * made_money / made END) AS unexplained_money
            FROM preparation_use WHERE week BETWEEN {first} AND {last} GROUP BY house
        ), opened AS (
            SELECT
                house, CAST(sum(CASE WHEN is_open THEN 1 ELSE 0 END) AS BIGINT) AS open_days,
                CAST(sum(CASE WHEN is_open AND NOT has_sales THEN 1 ELSE 0 END) AS BIGINT) AS silent_days
            FROM open_days WHERE day BETWEEN {first} AND {last} GROUP BY house
        )
        SELECT
            h.house, h.state, h.reason_code, h.first_day, h.last_day, h.rows_read, h.aside, s.serves, s.net_takings,
            s.days, m.made_money, m.lost_money, m.unexplained_money, o.open_days, o.silent_days
        FROM houses AS h
        LEFT JOIN sold AS s ON s.house = h.house
        LEFT JOIN made AS m ON m.house = h.house
        LEFT JOIN opened AS o ON o.house = h.house
        ORDER BY h.house
    """,
    "house_drinks": f"""
        WITH named AS ({_named("drink", "daily_serves")})
        SELECT f.house, n.drink, sum(f.serves) AS serves, sum(f.net_takings) AS net_takings
        FROM daily_serves AS f JOIN named AS n ON n.drink_key = f.drink_key
        WHERE f.day BETWEEN {{first}} AND {{last}}
        GROUP BY f.house, n.drink ORDER BY f.house, n.drink
    """,
    # A drink's weeks in a house run from the first to the last in which it sold: one between them without it counts.
    "drink_shares": f"""
        WITH named AS ({_named("drink", "daily_serves")}),
        sold AS (
            SELECT house, drink_key, CAST(date_trunc('WEEK', day) AS DATE) AS week, sum(serves) AS serves
            FROM daily_serves WHERE day BETWEEN {{first}} AND {{last}}
            GROUP BY house, drink_key, CAST(date_trunc('WEEK', day) AS DATE)
        ), every AS (SELECT house, week, sum(serves) AS serves FROM sold GROUP BY house, week HAVING sum(serves) > 0),
        span AS (
            SELECT house, drink_key, min(week) AS first_week, max(week) AS last_week FROM sold GROUP BY house, drink_key
        ),
        unit AS (
            SELECT
                n.house, n.drink_key, e.serves AS whole,
                least(greatest(coalesce(s.serves, 0.0), 0.0), e.serves) AS part
            FROM span AS n
            JOIN every AS e ON e.house = n.house AND e.week BETWEEN n.first_week AND n.last_week
            LEFT JOIN sold AS s ON s.house = n.house AND s.drink_key = n.drink_key AND s.week = e.week
        )
        SELECT u.house, n.drink, {_SQUARES}
        FROM unit AS u JOIN named AS n ON n.drink_key = u.drink_key
        GROUP BY u.house, n.drink ORDER BY u.house, n.drink
    """,
    "waste_shares": f"""
        WITH named AS ({_named("preparation", "preparation_use")}),
        unit AS (
            SELECT
                house, preparation_key, unit, least(sum(lost), sum({_GONE})) AS part, sum({_GONE}) AS whole,
                sum(lost_money) AS lost_money
            FROM preparation_use WHERE week BETWEEN {{first}} AND {{last}}
            GROUP BY house, preparation_key, unit, week HAVING sum({_GONE}) > 0 AND sum(lost) >= 0
        )
        SELECT u.house, n.preparation, u.unit, sum(u.lost_money) AS lost_money, {_SQUARES}
        FROM unit AS u JOIN named AS n ON n.preparation_key = u.preparation_key
        GROUP BY u.house, n.preparation, u.unit ORDER BY u.house, n.preparation, u.unit
    """,
    "waste_money": f"""
        WITH named AS ({_named("preparation", "preparation_use")}),
        cost AS (
            SELECT
                house, preparation_key, week, coalesce(lost_money, 0.0) AS part, made_money * ({_GONE}) / made AS whole
            FROM preparation_use
            WHERE week BETWEEN {{first}} AND {{last}} AND made > 0 AND made_money > 0 AND {_GONE} > 0
        ), unit AS (
            SELECT house, preparation_key, week, least(sum(part), sum(whole)) AS part, sum(whole) AS whole
            FROM cost GROUP BY house, preparation_key, week
            UNION ALL
            SELECT house, NULL, week, least(sum(part), sum(whole)), sum(whole) FROM cost GROUP BY house, week
        )
        SELECT u.house, n.preparation, {_SQUARES}
        FROM unit AS u LEFT JOIN named AS n ON n.preparation_key = u.preparation_key
        GROUP BY u.house, n.preparation ORDER BY u.house, n.preparation
    """,
    "version_spans": f"""
        WITH seen AS ({_VERSIONS}),
        named AS ({_named("spec", "seen", "kind")})
        SELECT s.house, n.spec, s.kind, s.version, min(s.at) AS first_day, max(s.at) AS last_day
        FROM seen AS s JOIN named AS n ON n.spec_key = s.spec_key AND n.kind = s.kind
        GROUP BY s.house, n.spec, s.kind, s.version ORDER BY s.house, n.spec, s.kind, s.version
    """,
    # Of drinks that had several versions: their serves, and those of the house's drinks that had but one, on the days
    # from its first to its last sale: a drink that is taken off has not sold badly since. Of such
    # preparations: what was lost of what is gone of the batches made in a week.
    "rollout_weeks": f"""
        WITH seen AS ({_VERSIONS}),
        named AS ({_named("spec", "seen", "kind")}),
        several AS (SELECT spec_key, kind FROM seen GROUP BY spec_key, kind HAVING count(DISTINCT version) > 1),
        sold AS (
            SELECT house, drink_key, CAST(date_trunc('WEEK', day) AS DATE) AS week, sum(serves) AS serves
            FROM daily_serves WHERE day BETWEEN {{first}} AND {{last}}
            GROUP BY house, drink_key, CAST(date_trunc('WEEK', day) AS DATE)
        ), steady AS (
            SELECT f.house, f.day, sum(f.serves) AS serves
            FROM daily_serves AS f LEFT JOIN several AS v ON v.spec_key = f.drink_key AND v.kind = 'drink'
            WHERE v.spec_key IS NULL AND f.day BETWEEN {{first}} AND {{last}}
            GROUP BY f.house, f.day
        ), has AS (
            SELECT f.house, f.drink_key, min(f.day) AS first_day, max(f.day) AS last_day
            FROM daily_serves AS f JOIN several AS v ON v.spec_key = f.drink_key AND v.kind = 'drink'
            WHERE f.day BETWEEN {{first}} AND {{last}} AND f.serves > 0
            GROUP BY f.house, f.drink_key
        ), beside AS (
            SELECT h.house, h.drink_key, CAST(date_trunc('WEEK', t.day) AS DATE) AS week, sum(t.serves) AS serves
            FROM has AS h JOIN steady AS t ON t.house = h.house AND t.day BETWEEN h.first_day AND h.last_day
            GROUP BY h.house, h.drink_key, CAST(date_trunc('WEEK', t.day) AS DATE)
            HAVING sum(t.serves) > 0
        )
        SELECT h.house, n.spec, 'drink' AS kind, h.week, coalesce(s.serves, 0.0) AS counted, h.serves AS exposure
        FROM beside AS h
        JOIN named AS n ON n.spec_key = h.drink_key AND n.kind = 'drink'
        LEFT JOIN sold AS s ON s.house = h.house AND s.drink_key = h.drink_key AND s.week = h.week
        UNION ALL
        SELECT u.house, n.spec, 'preparation', u.week, sum(u.lost), sum(u.used + u.lost + u.unexplained)
        FROM preparation_use AS u
        JOIN several AS v ON v.spec_key = u.preparation_key AND v.kind = 'preparation'
        JOIN named AS n ON n.spec_key = u.preparation_key AND n.kind = 'preparation'
        WHERE u.week BETWEEN {{first}} AND {{last}}
        GROUP BY u.house, n.spec, u.week HAVING sum(u.used + u.lost + u.unexplained) > 0
        ORDER BY 3, 2, 1, 4
    """,
    "panel_means": f"""
        WITH named AS ({_named("spec", "panel_scores")})
        SELECT
            f.house, n.spec, f.version, f.panelist_number, f.attribute, f.scale_kind, f.scale_low, f.scale_high,
            avg(f.score) AS score
        FROM panel_scores AS f JOIN named AS n ON n.spec_key = f.spec_key
        WHERE f.session_on <= {{last}} AND f.version IS NOT NULL
        GROUP BY
            f.house, n.spec, f.version, f.panelist_number, f.attribute, f.scale_kind, f.scale_low, f.scale_high
        ORDER BY n.spec, f.attribute, f.house, f.version, f.panelist_number
    """,
}
"""View -> its statement.

house_books: one row a house that was ever tried: its state, sales, costs and losses, and what is wrong with its books.
house_drinks: what each house sold of each drink.
drink_shares: a drink's share of a house's serves, weeks as units.
waste_shares: what was lost of a preparation of what is gone of it, weeks in which it was made as units.
waste_money: the same in money, at cost; a row without a preparation is of all of them.
version_spans: from when to when each house sold or made each version, up to the last day looked at.
rollout_weeks: what is counted of each spec that had several versions, and over what.
panel_means: each panelist's mean score of a version.
"""


def statement(name: str, period: Period) -> str:
    """The statement of a view, or of a table of facts whole, with its days.

    Raises:
        KeyError: there is neither.
    """
    if name in STATEMENTS:
        days = {"first": f"DATE '{period.first.isoformat()}'", "last": f"DATE '{period.last.isoformat()}'"}
        return STATEMENTS[name].format(**days)
    if name in COLUMNS:
        return f"SELECT * FROM {name}"
    raise KeyError(name)
