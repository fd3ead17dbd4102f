-- What the till sold that was a drink of ours, with the version in service: a row for each till spelling of a day, so
-- that a spec can stand there several times.
SELECT
    sold.venue,
    sold.business_date,
    meaning.spec,
    served.version,
    sold.quantity * CAST(meaning.serves_each AS DECIMAL(12, 4)) AS serves,
    sold.net_amount,
    sold.lines
FROM till_day AS sold
JOIN till_meaning AS meaning
    ON meaning.item_key = lower(sold.till_item) AND meaning.venue IS NOT DISTINCT FROM sold.venue
LEFT JOIN version_on_day AS served
    ON served.name_key = lower(meaning.spec) AND served.day = sold.business_date
WHERE meaning.meaning = 'drink'
