-- One spelling of everything that goes into a spec or stands in the price list: that of its own spec, else of its latest
-- price, else the first in the alphabet.
--
-- item: the name in that spelling
-- item_kind: drink, preparation or garnish where it is made here, else ingredient
WITH written AS (
    SELECT name_key(item) AS item_key, item, coalesce(priced_on, first_of_days()) AS day FROM current_ingredient
    UNION ALL
    SELECT name_key(item), item, NULL FROM current_spec_line
),
bought AS (
    SELECT item_key, coalesce(arg_max(item, (day, item)) FILTER (day IS NOT NULL), min(item)) AS item
    FROM written
    GROUP BY item_key
)
SELECT bought.item_key, coalesce(own.spec, bought.item) AS item, coalesce(own.kind, 'ingredient') AS item_kind
FROM bought
LEFT JOIN spelling AS own ON own.name_key = bought.item_key
