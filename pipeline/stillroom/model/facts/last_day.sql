-- The last day that anything in the house's files speaks of: the 'today' of every report.
--
-- last_day: that day; null while there is nothing
SELECT max(day) AS last_day
FROM (
    SELECT max(business_date) AS day FROM till_day
    UNION ALL
    SELECT max(made_on) FROM current_batch
    UNION ALL
    SELECT max(happened_on) FROM current_batch_event
)
