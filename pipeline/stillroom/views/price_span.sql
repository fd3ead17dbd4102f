-- What one ml, g or piece of usable ingredient costs, from the day its price holds; null where the pack has no price.
SELECT
    lower(i.item) AS item_key,
    coalesce(i.priced_on, DATE '1900-01-01') AS priced_from,
    u.base,
    CAST(i.pack_cost AS DOUBLE) / (i.pack_amount * u.factor) / nullif(i.usable_pct / 100, 0) AS unit_cost,
    coalesce(i.density_g_ml, worked_out.density_g_ml) AS density_g_ml
FROM current_ingredient AS i
JOIN unit AS u ON u.unit = i.pack_unit
LEFT JOIN ingredient_density AS worked_out ON lower(worked_out.item) = lower(i.item)
