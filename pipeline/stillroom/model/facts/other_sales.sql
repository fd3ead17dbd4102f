-- Till spellings matched to 'not one of ours' (food, bottled beer): counted here, never dropped from a total.
--
-- quantity: pieces sold, less what was taken back
-- first_day: first business day on which it was sold
-- last_day: last business day on which it was sold
SELECT
    d.venue,
    min(d.till_item) AS till_item,
    CAST(SUM(d.quantity) AS DOUBLE) AS quantity,
    CAST(SUM(d.net_amount) AS DOUBLE) AS net_amount,
    CAST(SUM(d.lines) AS BIGINT) AS lines,
    min(d.business_date) AS first_day,
    max(d.business_date) AS last_day
FROM till_item_day AS d
JOIN till_meaning AS m ON m.item_key = d.item_key AND m.venue IS NOT DISTINCT FROM d.venue
WHERE m.meaning = 'other'
GROUP BY d.venue, d.item_key
