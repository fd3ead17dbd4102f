-- Serves and money of every drink by venue and business day, with the version in service on that day (the highest
-- where spans overlap; outside all spans the last one before, else the first after).
WITH serves AS (
    SELECT
        d.venue,
        d.business_date,
        m.spec,
        SUM(d.quantity * CAST(m.serves_each AS DECIMAL(12, 4))) AS serves,
        SUM(d.net_amount) AS net_amount,
        SUM(d.lines) AS lines
    FROM till_day AS d
    JOIN till_meaning AS m ON m.item_key = lower(d.till_item) AND m.venue IS NOT DISTINCT FROM d.venue
    WHERE m.meaning = 'drink'
    GROUP BY d.venue, d.business_date, m.spec
),
spec_days AS (
    SELECT DISTINCT spec, business_date FROM serves
),
versions AS (
    SELECT
        spec_days.spec,
        spec_days.business_date,
        coalesce(
            max(s.version) FILTER (spec_days.business_date BETWEEN s.first_day AND s.last_day),
            arg_max(s.version, s.first_day) FILTER (s.first_day <= spec_days.business_date),
            arg_min(s.version, s.first_day)
        ) AS version
    FROM spec_days
    JOIN service_span AS s ON s.name_key = lower(spec_days.spec)
    GROUP BY spec_days.spec, spec_days.business_date
)
SELECT
    serves.venue,
    serves.business_date,
    serves.spec,
    versions.version,
    CAST(serves.serves AS DOUBLE) AS serves,
    CAST(serves.net_amount AS DOUBLE) AS net_amount,
    CAST(serves.lines AS BIGINT) AS lines
FROM serves
LEFT JOIN versions ON versions.spec = serves.spec AND versions.business_date = serves.business_date
