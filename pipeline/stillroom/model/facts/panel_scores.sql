-- Tasting scores in force, every name in one spelling: the spec's own where there is one, else the first that was used.
--
-- session: one sitting
-- tasted_on: day of the sitting
-- panelist: who tasted
-- version: of the spec that was tasted
-- attribute: what was scored
-- score: from scale_low to scale_high
-- scale_low: lowest score of the scale
-- scale_high: highest score of the scale
-- scale_kind: intensity, liking or just-about-right
-- position: place in the serving order; null where nobody wrote it
-- code: the blind code; null where nobody wrote it
-- replicate: number of a sample that a panelist had several times
-- looks: sittings planned beforehand for this comparison; null where none were
WITH keyed AS (
    SELECT
        *,
        name_key(session) AS session_key,
        name_key(panelist) AS panelist_key,
        name_key(spec) AS name_key,
        name_key(attribute) AS attribute_key
    FROM current_tasting
)
SELECT
    first_value(t.session) OVER (PARTITION BY t.session_key ORDER BY t.intake_id, t.row_number) AS session,
    t.tasted_on,
    first_value(t.panelist) OVER (PARTITION BY t.panelist_key ORDER BY t.intake_id, t.row_number) AS panelist,
    coalesce(
        one.spec, first_value(t.spec) OVER (PARTITION BY t.name_key ORDER BY t.intake_id, t.row_number)
    ) AS spec,
    t.version,
    first_value(t.attribute) OVER (PARTITION BY t.attribute_key ORDER BY t.intake_id, t.row_number) AS attribute,
    t.score,
    t.scale_low,
    t.scale_high,
    t.scale_kind,
    t.position,
    t.code,
    t.replicate,
    t.looks
FROM keyed AS t
LEFT JOIN spelling AS one ON one.name_key = t.name_key
