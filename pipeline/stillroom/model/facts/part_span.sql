-- What a serve of a drink or a making of the rest takes, all nesting unfolded, every level a row, with the versions
-- that were in use on the days of the stretch. A spec that is part of itself is an error that names the circle.
-- Built as a table, since costs, amounts and use all read it.
--
-- first_day: first day on which it takes this; 1900-01-01 where it is open
-- last_day: last day on which it does; 9999-12-31 where it is open
-- item: what is taken: an ingredient, or another spec in its one spelling
-- item_kind: drink, preparation or garnish where it is made here, else ingredient
-- item_version: version of an item that is made here; null of what is bought
-- depth: 1 for the spec's own lines, 2 for what is in these, and so on
-- amount: how much is taken, in `unit`; null where no density joins ml and g on the way
-- unit: ml, g or each
-- first_stock: no other preparation lies between the spec and this item, so it is taken from its own stock
WITH RECURSIVE parts AS (
    SELECT
        s.name_key,
        s.version,
        epoch.first_day,
        i.item,
        i.item_key,
        i.item_kind,
        used.version AS item_version,
        1 AS depth,
        i.amount / CASE WHEN s.kind = 'drink' AND s.base = 'each' THEN s.yield_base ELSE 1 END AS amount,
        i.base,
        TRUE AS first_stock,
        [s.spec || ' v' || s.version, i.item || coalesce(' v' || used.version, '')] AS path
    FROM spec_version AS s
    JOIN spec_epoch AS epoch ON epoch.name_key = s.name_key AND epoch.version = s.version
    JOIN spec_item AS i ON i.name_key = s.name_key AND i.version = s.version
    LEFT JOIN version_in_use AS used
        ON used.name_key = i.item_key AND epoch.first_day BETWEEN used.first_day AND used.last_day
    UNION ALL
    SELECT
        p.name_key,
        p.version,
        p.first_day,
        i.item,
        i.item_key,
        i.item_kind,
        used.version,
        p.depth + 1,
        i.amount * in_base(p.amount, p.base, c.base, c.density_g_ml) / c.yield_base,
        i.base,
        p.first_stock AND p.item_kind = 'drink',
        CASE
            WHEN list_contains(p.path[:-2], p.path[-1])
                THEN error('The specs go in a circle: ' || array_to_string(p.path, ' -> '))
            ELSE list_append(p.path, i.item || coalesce(' v' || used.version, ''))
        END
    FROM parts AS p
    JOIN spec_version AS c ON c.name_key = p.item_key AND c.version = p.item_version
    JOIN spec_item AS i ON i.name_key = c.name_key AND i.version = c.version
    LEFT JOIN version_in_use AS used
        ON used.name_key = i.item_key AND p.first_day BETWEEN used.first_day AND used.last_day
)
SELECT
    s.name_key,
    s.spec,
    s.version,
    epoch.first_day,
    epoch.last_day,
    parts.item,
    parts.item_key,
    parts.item_kind,
    parts.item_version,
    parts.depth,
    parts.amount,
    parts.base AS unit,
    parts.first_stock
FROM parts
JOIN spec_version AS s ON s.name_key = parts.name_key AND s.version = parts.version
JOIN spec_epoch AS epoch
    ON epoch.name_key = parts.name_key AND epoch.version = parts.version AND epoch.first_day = parts.first_day
