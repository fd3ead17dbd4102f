-- Tasting scores in force, every name in one spelling: the spec's own where there is one, else the first that was used.
SELECT
    first_value(t.session) OVER (PARTITION BY lower(t.session) ORDER BY t.intake_id, t.row_number) AS session,
    t.tasted_on,
    first_value(t.panelist) OVER (PARTITION BY lower(t.panelist) ORDER BY t.intake_id, t.row_number) AS panelist,
    coalesce(
        s.spec, first_value(t.spec) OVER (PARTITION BY lower(t.spec) ORDER BY t.intake_id, t.row_number)
    ) AS spec,
    t.version,
    first_value(t.attribute) OVER (PARTITION BY lower(t.attribute) ORDER BY t.intake_id, t.row_number) AS attribute,
    t.score,
    t.scale_low,
    t.scale_high,
    t.scale_kind,
    t.position,
    t.code,
    t.replicate
FROM current_tasting AS t
LEFT JOIN spelling AS s ON s.name_key = lower(t.spec)
