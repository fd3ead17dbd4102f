-- Money of each day in till lines that no match and no drink's name explains.
SELECT d.business_date, CAST(sum(d.net_amount) AS DOUBLE) AS net_amount
FROM till_item_day AS d
JOIN till_meaning AS m ON m.item_key = d.item_key AND m.venue IS NOT DISTINCT FROM d.venue
WHERE m.meaning = 'unmatched'
GROUP BY d.business_date
