-- What the till sold that was a drink of ours, with the version in service: a row for each till spelling of a day, so
-- that a spec can stand there several times.
--
-- version: of the drink, in service on the day; null where the match names a drink that has no spec
-- serves: serves sold, less what was taken back
WITH sold AS (
    SELECT
        d.venue,
        d.business_date,
        meaning.spec,
        name_key(meaning.spec) AS name_key,
        d.quantity * CAST(meaning.serves_each AS DECIMAL(12, 4)) AS serves,
        d.net_amount,
        d.lines
    FROM till_item_day AS d
    JOIN till_meaning AS meaning ON meaning.item_key = d.item_key AND meaning.venue IS NOT DISTINCT FROM d.venue
    WHERE meaning.meaning = 'drink'
)
SELECT sold.venue, sold.business_date, sold.spec, sold.name_key, served.version, sold.serves, sold.net_amount, sold.lines
FROM sold
ASOF LEFT JOIN service_span AS served ON served.name_key = sold.name_key AND sold.business_date >= served.first_day
