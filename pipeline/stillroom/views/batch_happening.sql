-- Every event of a batch in force, its amount in the preparation's stock unit.
SELECT
    b.batch_key,
    e.happened_on,
    e.event,
    CASE
        WHEN u.base = b.unit THEN e.amount * u.factor
        WHEN u.base = 'ml' AND b.unit = 'g' THEN e.amount * u.factor * b.density_g_ml
        WHEN u.base = 'g' AND b.unit = 'ml' THEN e.amount * u.factor / b.density_g_ml
    END AS amount
FROM current_batch_event AS e
JOIN batch_made AS b ON b.batch_key = lower(e.batch)
LEFT JOIN unit AS u ON u.unit = e.unit
