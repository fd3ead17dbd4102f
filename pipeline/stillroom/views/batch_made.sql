-- Every batch in force, with its preparation's one spelling, the version it was made to, its last day of use and its
-- size in the preparation's stock unit.
WITH batches AS (
    SELECT
        b.batch,
        b.venue,
        coalesce(s.spec, b.preparation) AS preparation,
        lower(b.preparation) AS name_key,
        coalesce(b.version, served.version) AS version,
        b.made_on,
        b.use_by,
        b.storage,
        b.made_amount * u.factor AS made,
        u.base
    FROM current_batch AS b
    JOIN unit AS u ON u.unit = b.made_unit
    LEFT JOIN spelling AS s ON s.name_key = lower(b.preparation)
    LEFT JOIN version_on_day AS served ON served.name_key = lower(b.preparation) AND served.day = b.made_on
)
SELECT
    b.batch,
    lower(b.batch) AS batch_key,
    b.venue,
    b.preparation,
    b.name_key,
    b.version,
    b.made_on,
    coalesce(b.use_by, b.made_on + CAST(floor(spec.keeps_days) AS INTEGER)) AS use_by,
    CASE
        WHEN stock.base IS NULL OR stock.base = b.base THEN b.made
        WHEN b.base = 'ml' AND stock.base = 'g' THEN b.made * stock.density_g_ml
        WHEN b.base = 'g' AND stock.base = 'ml' THEN b.made / stock.density_g_ml
    END AS made,
    coalesce(stock.base, b.base) AS unit,
    coalesce(b.storage, spec.storage) AS storage,
    stock.density_g_ml
FROM batches AS b
LEFT JOIN stock_unit AS stock ON stock.name_key = b.name_key
LEFT JOIN current_spec AS spec ON lower(spec.spec) = b.name_key AND spec.version = b.version
