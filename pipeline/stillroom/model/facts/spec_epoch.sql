-- Stretches of days over which a spec version holds the same versions of what goes into it, at every depth.
--
-- first_day: first day of the stretch; 1900-01-01 where it is open
-- last_day: last day of the stretch; 9999-12-31 where it is open
WITH RECURSIVE inside AS (
    SELECT name_key, version, item_key FROM spec_item WHERE item_kind <> 'ingredient'
    UNION
    SELECT outer_spec.name_key, outer_spec.version, i.item_key
    FROM inside AS outer_spec
    JOIN spec_item AS i ON i.name_key = outer_spec.item_key
    WHERE i.item_kind <> 'ingredient'
),
days AS (
    SELECT name_key, version, first_of_days() AS day FROM spec_version
    UNION
    SELECT inside.name_key, inside.version, used.first_day
    FROM inside
    JOIN version_in_use AS used ON used.name_key = inside.item_key
)
SELECT
    name_key,
    version,
    day AS first_day,
    coalesce(lead(day) OVER (PARTITION BY name_key, version ORDER BY day) - 1, last_of_days()) AS last_day
FROM days
