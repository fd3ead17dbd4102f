-- Every event of a batch in force, its amount in the preparation's stock unit. On one day a count comes after the losses.
-- `amount` is what counts: NULL where nothing was said, or where `problem` tells that the amount recorded cannot be.
-- More than that can have been there by what was made and lost before: measured a little too high (up to a twentieth:
-- common practice, no source), it is all there can have been; beyond that a loss took all that was left, and a count
-- says nothing.
--
-- unit: ml, g or each: the unit of the preparation's stock
-- event: used up, poured away, spoiled or counted
-- is_loss: poured away or spoiled
-- recorded: the amount as written
-- recorded_unit: the unit as written
-- reason: as written
-- amount: what counts, in `unit`; null where nothing was said, or where it cannot be
-- takes_all: a loss that took all that was left
-- problem: why the amount as written cannot be; null where it can
WITH keyed AS (
    SELECT *, name_key(batch) AS batch_key FROM current_batch_event
),
events AS (
    SELECT
        b.batch_key,
        b.batch,
        b.preparation,
        b.use_by,
        b.made,
        b.unit,
        e.happened_on,
        e.event,
        e.event IN ('poured away', 'spoiled') AS is_loss,
        e.amount AS recorded,
        e.unit AS recorded_unit,
        in_base(e.amount * u.factor, u.base, b.unit, b.density_g_ml) AS measured,
        e.reason,
        e.file,
        e.row_number
    FROM keyed AS e
    JOIN batch_made AS b ON b.batch_key = e.batch_key
    LEFT JOIN unit AS u ON u.unit = e.unit
),
-- A loss that cannot be takes nothing off what there can have been after it.
losses AS (
    SELECT
        *,
        made - coalesce(sum(CASE WHEN is_loss AND measured <= 1.05 * made THEN measured END) OVER before, 0) AS could_be
    FROM events
    WINDOW before AS (
        PARTITION BY batch_key ORDER BY happened_on, is_loss DESC, file, row_number
        ROWS BETWEEN UNBOUNDED PRECEDING AND 1 PRECEDING
    )
),
possible AS (
    SELECT *, measured > could_be + 0.05 * made AS too_much FROM losses
)
SELECT
    * EXCLUDE (made, measured, could_be, too_much),
    CASE WHEN NOT too_much THEN least(measured, could_be) ELSE NULL END AS amount,
    is_loss AND (recorded IS NULL OR coalesce(too_much, FALSE)) AS takes_all,
    CASE
        WHEN too_much THEN 'more than there can have been'
        WHEN recorded IS NOT NULL AND measured IS NULL THEN 'its unit cannot be turned into that of the batch'
    END AS problem
FROM possible
