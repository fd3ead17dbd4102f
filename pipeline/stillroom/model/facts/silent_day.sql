-- Days of which no till line tells in a week that has others, on weekdays that have nearly always some: an export that
-- is lacking, or a day off that no settings tell of.
--
-- usual: what such a weekday brings, house currency
WITH days AS (
    SELECT venue, business_date, CAST(sum(net_amount) AS DOUBLE) AS net_amount FROM till_day GROUP BY ALL
),
calendar AS (
    SELECT venue, CAST(unnest(generate_series(first_day, last_day, INTERVAL 1 DAY)) AS DATE) AS business_date
    FROM (SELECT venue, min(business_date) AS first_day, max(business_date) AS last_day FROM days GROUP BY venue)
),
told AS (
    SELECT
        c.venue,
        c.business_date,
        d.business_date IS NULL AS silent,
        count(d.business_date) OVER weekday AS open_days,
        count(*) OVER weekday AS all_days,
        median(d.net_amount) OVER weekday AS usual,
        count(d.business_date) OVER (PARTITION BY c.venue, date_trunc('week', c.business_date)) AS in_week
    FROM calendar AS c
    LEFT JOIN days AS d ON d.venue IS NOT DISTINCT FROM c.venue AND d.business_date = c.business_date
    WINDOW weekday AS (PARTITION BY c.venue, isodow(c.business_date))
)
SELECT venue, business_date, usual
FROM told
WHERE silent AND in_week > 0 AND all_days >= 4 AND open_days >= 0.75 * all_days
    AND business_date NOT IN (SELECT business_date FROM closed_day)
