-- Cost of one serve or one making from each day on which a price of something in it changes. cost is null where any
-- price is missing: cost_known is then a floor, and missing names what has no price (or no way to convert to it). A spec
-- that goes in and has no lines of its own has no price either.
WITH leaves AS (
    SELECT lower(spec) AS name_key, spec, version, item, lower(item) AS item_key, amount, unit
    FROM spec_parts AS p
    WHERE NOT EXISTS (FROM spec_item AS i WHERE i.name_key = lower(p.item) AND i.version = p.item_version)
),
days AS (
    SELECT DISTINCT leaves.name_key, leaves.spec, leaves.version, p.priced_from
    FROM leaves JOIN price_span AS p ON p.item_key = leaves.item_key
    UNION
    SELECT DISTINCT name_key, spec, version, DATE '1900-01-01' FROM leaves
),
priced AS (
    SELECT
        days.spec,
        days.version,
        days.priced_from,
        leaves.item,
        CASE
            WHEN leaves.unit = p.base THEN leaves.amount
            WHEN leaves.unit = 'ml' AND p.base = 'g' THEN leaves.amount * p.density_g_ml
            WHEN leaves.unit = 'g' AND p.base = 'ml' THEN leaves.amount / p.density_g_ml
        END * p.unit_cost AS cost
    FROM days
    JOIN leaves ON leaves.name_key = days.name_key AND leaves.version = days.version
    ASOF LEFT JOIN price_span AS p ON p.item_key = leaves.item_key AND days.priced_from >= p.priced_from
)
SELECT
    spec,
    version,
    priced_from,
    CASE WHEN count(cost) = count(*) THEN CAST(sum(CAST(cost AS DECIMAL(18, 8))) AS DOUBLE) END AS cost,
    coalesce(CAST(sum(CAST(cost AS DECIMAL(18, 8))) AS DOUBLE), 0) AS cost_known,
    string_agg(DISTINCT item, '; ' ORDER BY item) FILTER (cost IS NULL) AS missing
FROM priced
GROUP BY spec, version, priced_from
