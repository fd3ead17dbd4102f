-- Every row of the match file in force, with the keys that names compare by.
--
-- venue_key: the venue that it is for, without case; null = all
-- spec: the drink it stands for, in its own spelling; null = not one of ours
-- serves: serves in one
SELECT
    name_key(m.till_item) AS item_key,
    name_key(m.venue) AS venue_key,
    coalesce(one.spec, m.spec) AS spec,
    m.serves
FROM current_till_match AS m
LEFT JOIN spelling AS one ON one.name_key = name_key(m.spec)
