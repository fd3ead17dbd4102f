-- How much of each preparation was taken from its stock on a day, by each drink and preparation that it goes into.
--
-- preparation: what was taken
-- used_by: the drink or preparation that it went into
-- amount: how much was taken, in `unit`
-- unit: ml, g or each
SELECT venue, business_date, preparation, used_by, CAST(sum(amount) AS DOUBLE) AS amount, unit
FROM stock_taking
GROUP BY venue, business_date, preparation, used_by, unit
