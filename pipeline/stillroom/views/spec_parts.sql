-- What a serve of a drink or a making of a preparation takes, all nesting unfolded, every level a row.
-- first_stock: no other preparation lies between the spec and this item, so it is taken from its own stock.
-- A spec that is part of itself is an error that names the circle.
WITH RECURSIVE parts AS (
    SELECT
        s.name_key,
        s.version,
        i.item,
        i.item_key,
        i.item_kind,
        i.item_version,
        1 AS depth,
        i.amount / CASE WHEN s.kind = 'drink' AND s.base = 'each' THEN s.yield_base ELSE 1 END AS amount,
        i.base,
        TRUE AS first_stock,
        [s.spec || ' v' || s.version, i.item || coalesce(' v' || i.item_version, '')] AS path
    FROM spec_unit AS s
    JOIN spec_item AS i ON i.name_key = s.name_key AND i.version = s.version
    UNION ALL
    SELECT
        p.name_key,
        p.version,
        i.item,
        i.item_key,
        i.item_kind,
        i.item_version,
        p.depth + 1,
        i.amount * (
            CASE
                WHEN p.base = c.base THEN p.amount
                WHEN p.base = 'ml' AND c.base = 'g' THEN p.amount * c.density_g_ml
                WHEN p.base = 'g' AND c.base = 'ml' THEN p.amount / c.density_g_ml
            END / c.yield_base
        ),
        i.base,
        p.first_stock AND p.item_kind = 'drink',
        CASE
            WHEN list_contains(p.path[:-2], p.path[-1])
                THEN error('The specs go in a circle: ' || array_to_string(p.path, ' -> '))
            ELSE list_append(p.path, i.item || coalesce(' v' || i.item_version, ''))
        END
    FROM parts AS p
    JOIN spec_unit AS c ON c.name_key = p.item_key AND c.version = p.item_version
    JOIN spec_item AS i ON i.name_key = c.name_key AND i.version = c.version
)
SELECT
    s.spec,
    parts.version,
    parts.item,
    parts.item_kind,
    parts.item_version,
    parts.depth,
    parts.amount,
    parts.base AS unit,
    CASE WHEN s.kind = 'drink' THEN 'serve' ELSE 'making' END AS per,
    parts.first_stock
FROM parts
JOIN spelling AS s ON s.name_key = parts.name_key
