-- What one ml, g or piece of usable ingredient costs, from the day its price holds until the next. Tap water that the
-- price list does not hold costs nothing.
--
-- item: the ingredient
-- priced_on: the day written beside the price; null where none is
-- priced_from: first day on which this price holds
-- base: ml, g or each
-- unit_cost: house currency for one ml, g or piece; null where the pack has no price, or nothing of it is usable
-- density_g_ml: g/ml at 20 °C: stated, else worked out; null where it is not known
WITH keyed AS (
    SELECT *, name_key(item) AS item_key FROM current_ingredient
)
SELECT
    i.item_key,
    one.item,
    i.priced_on,
    coalesce(i.priced_on, first_of_days()) AS priced_from,
    u.base,
    CAST(i.pack_cost AS DOUBLE) / nullif(i.pack_amount * u.factor * i.usable_pct / 100, 0) AS unit_cost,
    density.density_g_ml
FROM keyed AS i
JOIN item_spelling AS one ON one.item_key = i.item_key
JOIN unit AS u ON u.unit = i.pack_unit
LEFT JOIN ingredient_density AS density ON density.item_key = i.item_key
UNION ALL
SELECT free.item_key, free.item_key, NULL, first_of_days(), 'ml', 0, free.density_g_ml
FROM free_item AS free
WHERE free.item_key NOT IN (SELECT item_key FROM keyed)
