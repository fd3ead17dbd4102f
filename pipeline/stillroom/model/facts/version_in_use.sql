-- The version of a spec that was used on a day: that of the batch in use, as the batch book and the sales say; where
-- they say none, the version in service. Built as a table, since every question by day reads it. Where batches of two versions were in use (two venues, the day of the change),
-- the one begun last. Every day is in one span of every spec that has a version meant.
--
-- first_day: first day of the span; 1900-01-01 where it is open
-- last_day: last day of the span; 9999-12-31 where it is open
WITH runs AS (
    SELECT r.name_key, r.version, r.first_day, r.last_day
    FROM batch_run AS r
    JOIN spec_version AS s ON s.name_key = r.name_key AND s.version = r.version
    WHERE r.state = 'use'
),
changes AS (
    SELECT name_key, first_day AS day FROM service_span
    UNION
    SELECT name_key, first_day FROM runs
    UNION
    SELECT name_key, last_day + 1 FROM runs WHERE last_day < last_of_days()
),
used AS (
    SELECT c.name_key, c.day, arg_max(r.version, (r.first_day, r.version)) AS version
    FROM changes AS c
    LEFT JOIN runs AS r ON r.name_key = c.name_key AND c.day BETWEEN r.first_day AND r.last_day
    GROUP BY c.name_key, c.day
),
meant AS (
    SELECT u.name_key, s.spec, u.day, coalesce(u.version, s.version) AS version
    FROM used AS u
    JOIN service_span AS s ON s.name_key = u.name_key AND u.day BETWEEN s.first_day AND s.last_day
),
turns AS (
    SELECT *
    FROM meant
    QUALIFY version IS DISTINCT FROM lag(version) OVER (PARTITION BY name_key ORDER BY day)
)
SELECT
    name_key,
    spec,
    version,
    day AS first_day,
    coalesce(lead(day) OVER (PARTITION BY name_key ORDER BY day) - 1, last_of_days()) AS last_day
FROM turns
