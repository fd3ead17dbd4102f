-- Cost of one serve of a drink or one making of the rest, from each day on which a price or a version of something in it
-- changes.
--
-- priced_from: day from which this cost holds, until the next
-- cost: house currency; null where any price is missing, or a line is set aside
-- cost_known: house currency, of what has a price: where cost is null, a floor
-- missing: what has no price, or no way to convert to it, with '; ' between; null where nothing is missing
WITH exact AS (
    SELECT *, CAST(cost AS DECIMAL(18, 8)) AS of_item FROM part_cost
)
SELECT
    name_key,
    spec,
    version,
    first_day AS priced_from,
    CASE WHEN count(cost) = count(*) THEN CAST(sum(of_item) AS DOUBLE) END AS cost,
    coalesce(CAST(sum(of_item) AS DOUBLE), 0) AS cost_known,
    string_agg(DISTINCT item, '; ' ORDER BY item) FILTER (cost IS NULL) AS missing
FROM exact
GROUP BY name_key, spec, version, first_day
