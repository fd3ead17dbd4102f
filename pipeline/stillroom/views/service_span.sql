-- The days each version is in service. A version without dates is in service always where no version of the
-- spec has dates, and never where another has: it is then a trial.
WITH versions AS (
    SELECT
        lower(spec) AS name_key,
        version,
        in_service_from,
        in_service_until,
        bool_or(in_service_from IS NOT NULL OR in_service_until IS NOT NULL) OVER (PARTITION BY lower(spec)) AS dated
    FROM current_spec
)
SELECT
    name_key,
    version,
    coalesce(in_service_from, DATE '1900-01-01') AS first_day,
    coalesce(in_service_until, DATE '9999-12-31') AS last_day
FROM versions
WHERE NOT dated OR in_service_from IS NOT NULL OR in_service_until IS NOT NULL
