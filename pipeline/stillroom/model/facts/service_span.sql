-- THE rule of service: which version of a spec is meant on a day. Every day is in one span of every spec.
-- A version is in service on the days written for it, open ends included; where several are, the highest. One without
-- any date is a trial where another has some; where none has, the highest is in service always. On a day that no
-- version holds, the one that came into service last stands in (the higher of two), or the first to come (the lower).
--
-- in_service: whether the days written for the version hold it; false where it only stands in
-- first_day: first day of the span; 1900-01-01 where it is open
-- last_day: last day of the span; 9999-12-31 where it is open
WITH versions AS (
    SELECT
        name_key,
        spec,
        version,
        coalesce(in_service_from, first_of_days()) AS first_day,
        coalesce(in_service_until, last_of_days()) AS last_day,
        coalesce(in_service_from, in_service_until) IS NOT NULL AS dated
    FROM spec_version
),
serving AS (
    SELECT * FROM versions QUALIFY dated OR NOT bool_or(dated) OVER (PARTITION BY name_key)
),
changes AS (
    SELECT name_key, first_of_days() AS day FROM serving
    UNION
    SELECT name_key, first_day FROM serving
    UNION
    SELECT name_key, last_day + 1 FROM serving WHERE last_day < last_of_days()
),
chosen AS (
    SELECT
        s.name_key,
        s.spec,
        c.day,
        max(s.version) FILTER (c.day BETWEEN s.first_day AND s.last_day) AS held,
        coalesce(
            held,
            arg_max(s.version, (s.first_day, s.version)) FILTER (s.first_day <= c.day),
            arg_min(s.version, (s.first_day, s.version))
        ) AS version
    FROM changes AS c
    JOIN serving AS s ON s.name_key = c.name_key
    GROUP BY s.name_key, s.spec, c.day
),
turns AS (
    SELECT *
    FROM chosen
    QUALIFY (version, held) IS DISTINCT FROM lag((version, held)) OVER (PARTITION BY name_key ORDER BY day)
)
SELECT
    name_key,
    spec,
    version,
    held IS NOT NULL AS in_service,
    day AS first_day,
    coalesce(lead(day) OVER (PARTITION BY name_key ORDER BY day) - 1, last_of_days()) AS last_day
FROM turns
