-- What a serve of a drink or a making of the rest takes, all nesting unfolded, every level a row: of each version as it
-- is on the last day in the files, or was or will be on the day of its own service that is nearest to that.
--
-- item: what is taken: an ingredient, or another spec in its one spelling
-- item_kind: drink, preparation or garnish where it is made here, else ingredient
-- item_version: version of an item that is made here; null of what is bought
-- depth: 1 for the spec's own lines, 2 for what is in these, and so on
-- amount: how much is taken, in `unit`; null where no density joins ml and g on the way
-- unit: ml, g or each
-- per: serve of a drink, making of the rest
-- first_stock: no other preparation lies between the spec and this item, so it is taken from its own stock
WITH shown AS (
    SELECT
        s.name_key,
        s.version,
        s.kind,
        coalesce(greatest(min(span.first_day), least(max(span.last_day), today)), today) AS day
    FROM spec_version AS s
    CROSS JOIN (SELECT coalesce(last_day, last_of_days()) AS today FROM last_day) AS house
    LEFT JOIN service_span AS span
        ON span.name_key = s.name_key AND span.version = s.version AND span.in_service
    GROUP BY s.name_key, s.version, s.kind, today
)
SELECT
    p.spec,
    p.version,
    p.item,
    p.item_kind,
    p.item_version,
    p.depth,
    p.amount,
    p.unit,
    CASE WHEN shown.kind = 'drink' THEN 'serve' ELSE 'making' END AS per,
    p.first_stock
FROM part_span AS p
JOIN shown ON shown.name_key = p.name_key AND shown.version = p.version
WHERE shown.day BETWEEN p.first_day AND p.last_day
