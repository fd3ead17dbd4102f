-- Stretches of days over which batches of a version were in use (first made first used: table `batch_use`), or may still
-- have stood on a shelf: from the day made to the last day of use, or the day an event ended it.
--
-- state: use, or shelf
-- first_day: first day of the stretch
-- last_day: last day of the stretch; 9999-12-31 where nothing ends it
WITH spans AS (
    SELECT b.name_key, b.version, 'use' AS state, u.used_from AS first_day, u.used_to AS last_day
    FROM batch_use AS u
    JOIN batch_made AS b ON b.batch_key = u.batch_key
    WHERE u.used_from IS NOT NULL
    UNION ALL
    SELECT b.name_key, b.version, 'shelf', b.made_on, least(b.use_by, l.ended_on, last_of_days())
    FROM batch_made AS b
    LEFT JOIN batch_loss AS l ON l.batch_key = b.batch_key
),
apart AS (
    SELECT
        *,
        coalesce(
            first_day > 1 + max(last_day) OVER (
                PARTITION BY state, name_key, version
                ORDER BY first_day, last_day
                ROWS BETWEEN UNBOUNDED PRECEDING AND 1 PRECEDING
            ),
            FALSE
        ) AS begins
    FROM spans
    WHERE version IS NOT NULL AND last_day >= first_day
),
numbered AS (
    SELECT
        *,
        count(*) FILTER (begins) OVER (PARTITION BY state, name_key, version ORDER BY first_day, last_day) AS number
    FROM apart
)
SELECT name_key, version, state, min(first_day) AS first_day, max(last_day) AS last_day
FROM numbered
GROUP BY name_key, version, state, number
