-- Serves and money of every drink by venue and business day, with the version in service on that day.
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
