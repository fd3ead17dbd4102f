-- Names in batches, tastings, trials and matches that the spec book does not have, and versions of a spec that it does
-- not have.
--
-- table_name: where they stand
-- column: the column there
-- name: as written first
-- version: that the spec has not; null where there is no such spec at all
-- rows: how many rows name it
WITH named AS (
    SELECT 'batch' AS table_name, 'preparation' AS "column", preparation AS name, version, file, row_number
    FROM current_batch
    UNION ALL SELECT 'tasting', 'spec', spec, version, file, row_number FROM current_tasting
    UNION ALL SELECT 'trial', 'spec', spec, version_a, file, row_number FROM current_trial
    UNION ALL SELECT 'trial', 'spec', spec, version_b, file, row_number FROM current_trial
    UNION ALL SELECT 'till_match', 'spec', spec, NULL, file, row_number FROM current_till_match WHERE spec IS NOT NULL
),
keyed AS (
    SELECT *, name_key(name) AS name_key FROM named
)
SELECT
    k.table_name,
    k."column",
    arg_min(k.name, struct_pack(k.file, k.row_number)) AS name,
    CASE WHEN own.name_key IS NOT NULL THEN k.version END AS version,
    count(DISTINCT struct_pack(k.file, k.row_number)) AS rows,
    min(k.file) AS file,
    arg_min(k.row_number, struct_pack(k.file, k.row_number)) AS row_number
FROM keyed AS k
LEFT JOIN spelling AS own ON own.name_key = k.name_key
LEFT JOIN spec_version AS there ON there.name_key = k.name_key AND there.version = k.version
WHERE (own.name_key IS NULL OR (k.version IS NOT NULL AND there.version IS NULL))
    AND EXISTS (SELECT 1 FROM spelling)
GROUP BY k.table_name, k."column", k.name_key, CASE WHEN own.name_key IS NOT NULL THEN k.version END
