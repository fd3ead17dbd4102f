-- What was taken from the stock of each preparation: by drinks on the days they sold, and by the preparations it goes
-- into on the days those were made. In the preparation's stock unit; in the line's own where no density joins them.
-- A drink can stand here several times on a day.
--
-- preparation: what was taken
-- item_key: its name without case
-- used_by: the drink or preparation that it went into
-- amount: how much was taken, in `unit`
-- unit: ml, g or each
WITH takers AS (
    SELECT venue, business_date, spec AS used_by, name_key, version, CAST(serves AS DOUBLE) AS makings
    FROM drink_sale
    UNION ALL
    SELECT b.venue, b.made_on, b.preparation, b.name_key, b.version, b.made / s.yield_base
    FROM batch_made AS b
    JOIN spec_version AS s ON s.name_key = b.name_key AND s.version = b.version AND s.base = b.unit
),
dated AS (
    SELECT t.*, epoch.first_day
    FROM takers AS t
    ASOF JOIN spec_epoch AS epoch
        ON epoch.name_key = t.name_key AND epoch.version = t.version AND t.business_date >= epoch.first_day
),
parts AS (
    SELECT
        p.name_key,
        p.version,
        p.first_day,
        p.item AS preparation,
        p.item_key,
        in_base(p.amount, p.unit, stock.base, stock.density_g_ml) AS in_stock_unit,
        p.amount,
        p.unit,
        stock.base
    FROM part_span AS p
    LEFT JOIN stock_unit AS stock ON stock.name_key = p.item_key
    WHERE p.item_kind IN ('preparation', 'garnish') AND p.first_stock
)
SELECT
    t.venue,
    t.business_date,
    p.preparation,
    p.item_key,
    t.used_by,
    CAST(t.makings * coalesce(p.in_stock_unit, p.amount) AS DECIMAL(18, 6)) AS amount,
    CASE WHEN p.in_stock_unit IS NULL THEN p.unit ELSE p.base END AS unit
FROM dated AS t
JOIN parts AS p ON p.name_key = t.name_key AND p.version = t.version AND p.first_day = t.first_day
