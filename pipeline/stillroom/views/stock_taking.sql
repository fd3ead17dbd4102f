-- What was taken from the stock of each preparation: by drinks on the days they sold, and by the preparations it goes
-- into on the days those were made. In the preparation's stock unit; in the line's own where no density joins them.
-- A drink can stand here several times on a day.
WITH takers AS (
    SELECT venue, business_date, spec AS used_by, lower(spec) AS name_key, version, CAST(serves AS DOUBLE) AS makings
    FROM drink_sale
    UNION ALL
    SELECT b.venue, b.made_on, b.preparation, b.name_key, b.version, b.made / s.yield_base
    FROM batch_made AS b
    JOIN spec_unit AS s ON s.name_key = b.name_key AND s.version = b.version AND s.base = b.unit
),
parts AS (
    SELECT
        lower(p.spec) AS name_key,
        p.version,
        p.item AS preparation,
        CASE
            WHEN p.unit = 'ml' AND stock.base = 'g' THEN p.amount * stock.density_g_ml
            WHEN p.unit = 'g' AND stock.base = 'ml' THEN p.amount / stock.density_g_ml
            WHEN p.unit = stock.base THEN p.amount
        END AS in_stock_unit,
        p.amount,
        p.unit,
        stock.base
    FROM spec_parts AS p
    LEFT JOIN stock_unit AS stock ON stock.name_key = lower(p.item)
    WHERE p.item_kind IN ('preparation', 'garnish') AND p.first_stock
)
SELECT
    t.venue,
    t.business_date,
    p.preparation,
    t.used_by,
    CAST(t.makings * coalesce(p.in_stock_unit, p.amount) AS DECIMAL(18, 6)) AS amount,
    CASE WHEN p.in_stock_unit IS NULL THEN p.unit ELSE p.base END AS unit
FROM takers AS t
JOIN parts AS p ON p.name_key = t.name_key AND p.version = t.version
