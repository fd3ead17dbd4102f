-- How much of each preparation was taken from its stock: by drinks on the days they sold, and by the preparations it
-- goes into on the days those were made. In the preparation's stock unit; in the line's own where no density joins them.
WITH takers AS (
    SELECT venue, business_date, spec AS used_by, lower(spec) AS name_key, version, serves AS makings
    FROM daily_serves
    UNION ALL
    SELECT b.venue, b.made_on, b.preparation, b.name_key, b.version, b.made / s.yield_base
    FROM batch_made AS b
    JOIN spec_unit AS s ON s.name_key = b.name_key AND s.version = b.version AND s.base = b.unit
),
taken AS (
    SELECT
        t.venue,
        t.business_date,
        p.item AS preparation,
        t.used_by,
        t.makings * p.amount AS amount,
        p.unit,
        stock.base,
        stock.density_g_ml
    FROM takers AS t
    JOIN spec_parts AS p ON lower(p.spec) = t.name_key AND p.version = t.version
    LEFT JOIN stock_unit AS stock ON stock.name_key = lower(p.item)
    WHERE p.item_kind IN ('preparation', 'garnish') AND p.first_stock
),
converted AS (
    SELECT
        venue,
        business_date,
        preparation,
        used_by,
        CASE
            WHEN unit = 'ml' AND base = 'g' THEN amount * density_g_ml
            WHEN unit = 'g' AND base = 'ml' THEN amount / density_g_ml
            WHEN unit = base THEN amount
        END AS in_stock_unit,
        amount,
        unit,
        base
    FROM taken
)
SELECT
    venue,
    business_date,
    preparation,
    used_by,
    CAST(sum(CAST(coalesce(in_stock_unit, amount) AS DECIMAL(18, 6))) AS DOUBLE) AS amount,
    CASE WHEN in_stock_unit IS NULL THEN unit ELSE base END AS unit
FROM converted
GROUP BY venue, business_date, preparation, used_by, CASE WHEN in_stock_unit IS NULL THEN unit ELSE base END
