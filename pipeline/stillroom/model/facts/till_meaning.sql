-- What each till spelling of each venue stands for: a match for the venue first, then one for all venues, then a
-- drink of just that name.
--
-- meaning: drink, other (matched to 'not one of ours') or unmatched
-- spec: the drink it stands for; null where it is none
-- serves_each: serves in one
WITH items AS (
    SELECT DISTINCT venue, name_key(venue) AS venue_key, item_key FROM till_item_day
),
matches AS (
    SELECT
        items.venue,
        items.item_key,
        arg_max(struct_pack(spec := m.spec, serves := m.serves), m.venue_key IS NOT NULL) AS found
    FROM items
    JOIN match_entry AS m
        ON m.item_key = items.item_key AND (m.venue_key IS NULL OR m.venue_key = items.venue_key)
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
    coalesce(matches.found.spec, own.spec) AS spec,
    coalesce(matches.found.serves, 1) AS serves_each
FROM items
LEFT JOIN matches ON matches.item_key = items.item_key AND matches.venue IS NOT DISTINCT FROM items.venue
LEFT JOIN spelling AS own ON own.name_key = items.item_key AND own.kind = 'drink'
