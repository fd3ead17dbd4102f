-- Batches of eight times as much as their spec gives, or an eighth, where other batches are not so, too: a slip in an
-- amount or its unit, most likely (common practice, no source).
--
-- made: how much was made, in `unit`
-- unit: ml, g or each
-- gives: what one making gives by its spec, in `unit`
WITH sized AS (
    SELECT
        b.batch,
        b.batch_key,
        b.preparation,
        b.made,
        b.unit,
        s.yield_base AS gives,
        median(b.made) OVER (PARTITION BY b.name_key) AS usual,
        count(*) OVER (PARTITION BY b.name_key) AS batches
    FROM batch_made AS b
    JOIN spec_version AS s ON s.name_key = b.name_key AND s.version = b.version AND s.base = b.unit
    WHERE b.made > 0
)
SELECT z.batch, z.preparation, z.made, z.unit, z.gives, b.file, b.row_number
FROM sized AS z
JOIN current_batch AS b ON name_key(b.batch) = z.batch_key
WHERE greatest(z.made / z.gives, z.gives / z.made) >= 8
    AND (z.batches < 4 OR greatest(z.made / z.usual, z.usual / z.made) >= 4)
