-- Every change of an ingredient's price, for one ml, g or piece of the usable part, in the same unit as before.
--
-- item: the ingredient
-- changed_on: first day of the new price
-- base: ml, g or each
-- before: house currency for one base unit
-- after: house currency for one base unit
-- change: share of the price before by which it moved
WITH turns AS (
    SELECT
        item,
        item_key,
        priced_from AS changed_on,
        base,
        lag(base) OVER times AS base_before,
        lag(unit_cost) OVER times AS before,
        unit_cost AS after
    FROM price_span
    WINDOW times AS (PARTITION BY item_key ORDER BY priced_from)
)
SELECT item, item_key, changed_on, base, before, after, after / before - 1 AS change
FROM turns
WHERE before > 0 AND base = base_before AND abs(after / before - 1) > 1e-9
