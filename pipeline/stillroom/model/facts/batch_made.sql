-- Every batch in force, with the version it was made to (in service on the day, where the book does not say), its last
-- day of use (from how long the version keeps, where the book does not say) and its size in the preparation's stock unit.
--
-- name_key: the preparation's name without case
-- made: how much was made, in `unit`; null where no density joins the units
-- unit: ml, g or each: the unit of the preparation's stock
-- density_g_ml: g/ml at 20 °C, of the preparation; null where it is not known
WITH versions AS (
    SELECT b.* REPLACE (coalesce(b.version, served.version) AS version)
    FROM batch_entry AS b
    ASOF LEFT JOIN service_span AS served ON served.name_key = b.name_key AND b.made_on >= served.first_day
)
SELECT
    b.batch,
    b.batch_key,
    b.venue,
    b.preparation,
    b.name_key,
    b.version,
    b.made_on,
    coalesce(b.use_by, b.made_on + CAST(floor(spec.keeps_days) AS INTEGER)) AS use_by,
    in_base(b.made, b.base, coalesce(stock.base, b.base), stock.density_g_ml) AS made,
    coalesce(stock.base, b.base) AS unit,
    coalesce(b.storage, spec.storage) AS storage,
    stock.density_g_ml
FROM versions AS b
LEFT JOIN stock_unit AS stock ON stock.name_key = b.name_key
LEFT JOIN spec_version AS spec ON spec.name_key = b.name_key AND spec.version = b.version
