-- Every batch in force with its keys, as the book has it, its size in ml, g or each.
--
-- name_key: the preparation's name without case
-- version: as the book has it; null where it does not say
-- made: how much was made, in `base`
-- base: ml, g or each
-- use_by: as the book has it
-- storage: as the book has it
SELECT
    b.batch,
    name_key(b.batch) AS batch_key,
    b.venue,
    coalesce(one.spec, b.preparation) AS preparation,
    name_key(b.preparation) AS name_key,
    b.version,
    b.made_on,
    b.use_by,
    b.storage,
    b.made_amount * u.factor AS made,
    u.base
FROM current_batch AS b
JOIN unit AS u ON u.unit = b.made_unit
LEFT JOIN spelling AS one ON one.name_key = name_key(b.preparation)
