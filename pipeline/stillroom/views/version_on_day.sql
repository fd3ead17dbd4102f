-- The version of every spec in service on each day on which something was sold or made: the highest where spans
-- overlap; outside all spans the last one begun before (the higher of two), else the first to come (the lower).
WITH days AS (
    SELECT business_date AS day FROM till_day
    UNION
    SELECT made_on FROM current_batch
)
SELECT
    span.name_key,
    days.day,
    coalesce(
        max(span.version) FILTER (days.day BETWEEN span.first_day AND span.last_day),
        arg_max(span.version, (span.first_day, span.version)) FILTER (span.first_day <= days.day),
        arg_min(span.version, (span.first_day, span.version))
    ) AS version
FROM service_span AS span
CROSS JOIN days
GROUP BY span.name_key, days.day
