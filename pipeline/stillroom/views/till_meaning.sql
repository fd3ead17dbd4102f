-- What each till spelling of each venue stands for: a match for the venue first, then one for all venues, then a
-- drink of just that name. meaning: drink, other (matched to 'not one of ours'), unmatched.
WITH items AS (
    SELECT DISTINCT venue, lower(till_item) AS item_key FROM till_day
),
matches AS (
    SELECT
        items.venue,
        items.item_key,
        arg_max(struct_pack(spec := m.spec, serves := m.serves), m.venue IS NOT NULL) AS found
    FROM items
    JOIN current_till_match AS m
        ON lower(m.till_item) = items.item_key AND (m.venue IS NULL OR lower(m.venue) = lower(items.venue))
    GROUP BY items.venue, items.item_key
)
SELECT
    items.venue,
    items.item_key,
    CASE
        WHEN matches.found IS NOT NULL AND matches.found.spec IS NULL THEN 'other'
        WHEN matches.found IS NOT NULL OR own.spec IS NOT NULL THEN 'drink'
        ELSE 'unmatched'
    END AS meaning,
    coalesce(matched.spec, matches.found.spec, own.spec) AS spec,
    coalesce(matches.found.serves, 1) AS serves_each
FROM items
LEFT JOIN matches ON matches.item_key = items.item_key AND matches.venue IS NOT DISTINCT FROM items.venue
LEFT JOIN spelling AS matched ON matched.name_key = lower(matches.found.spec)
LEFT JOIN spelling AS own ON own.name_key = items.item_key AND own.kind = 'drink'
