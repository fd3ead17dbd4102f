-- Serves and money of every drink by venue and business day, with the version in service on that day.
--
-- version: of the drink, in service on the day; null where the match names a drink that has no spec
-- serves: serves sold, less what was taken back
SELECT
    venue,
    business_date,
    spec,
    version,
    CAST(sum(serves) AS DOUBLE) AS serves,
    CAST(sum(net_amount) AS DOUBLE) AS net_amount,
    CAST(sum(lines) AS BIGINT) AS lines
FROM drink_sale
GROUP BY venue, business_date, spec, version
