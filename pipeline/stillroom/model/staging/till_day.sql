-- Till lines in force, rolled up to venue x business day x till spelling.
-- The one heavy statement: plain SQL that any engine can run. Built as a table, since all else reads it.
--
-- quantity: pieces sold, less what was taken back
SELECT
    venue,
    CAST(sold_at - INTERVAL '{day_starts_minutes}' MINUTE AS DATE) AS business_date,
    till_item,
    SUM(quantity) AS quantity,
    SUM(net_amount) AS net_amount,
    COUNT(*) AS lines
FROM current_sale
GROUP BY
    venue,
    CAST(sold_at - INTERVAL '{day_starts_minutes}' MINUTE AS DATE),
    till_item
