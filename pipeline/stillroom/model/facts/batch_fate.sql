-- What became of every batch: first made, first used, none after its use-by (table `batch_use`); recorded events override
-- what the sales imply, and the difference is `unexplained`. Which events end a batch, batch_loss says; what one took
-- that says no amount: all that was left, or what the next count finds missing.
--
-- use_by: last day of use: the book's, else from how long the version keeps; null where nobody says
-- made: how much was made, in `unit`
-- used: what sales and makings took of it, in `unit`
-- poured_away: in `unit`
-- spoiled: in `unit`
-- left_at_use_by: in `unit`, of a batch that no event ended
-- on_hand: what should be left of it on the last day in the files, in `unit`
-- unexplained: what sales and events together do not explain, in `unit`; below 0 where more went than was made
-- unit: ml, g or each
-- ended_on: day on which an event ended it; null while none has
-- cost_made: house currency, at the prices and versions of the day it was made; null where a price is missing
-- cost_lost: house currency, of what was poured away, spoiled or left at its use-by
-- last_day: the last day in the files
-- spoiled_on: day on which it was found spoiled; null where it was not
-- last_good_on: last day on which it served or was handled, before it was found spoiled; null where it was not
WITH costs AS (
    SELECT made.name_key, made.version, made.made_on, c.cost
    FROM (SELECT DISTINCT name_key, version, made_on FROM batch_made) AS made
    ASOF JOIN spec_cost AS c
        ON c.name_key = made.name_key AND c.version = made.version AND made.made_on >= c.priced_from
),
settled AS (
    SELECT
        b.batch,
        b.venue,
        b.preparation,
        b.version,
        b.storage,
        b.made_on,
        b.use_by,
        b.unit,
        b.made,
        l.ended_on,
        u.used,
        l.spoiled_on,
        greatest(u.last_served_on, l.handled_on) AS last_good_on,
        u.held - u.used AS rest,
        b.made - coalesce(l.poured, 0) - coalesce(l.spoiled, 0)
            - u.poured_before_count - u.spoiled_before_count - u.held AS missed_by_counts,
        coalesce(l.poured, 0) + u.poured_before_count AS poured,
        coalesce(l.spoiled, 0) + u.spoiled_before_count AS spoiled,
        coalesce(l.rest_spoiled, FALSE) AS rest_spoiled,
        coalesce(l.rest_poured, FALSE) AS rest_poured,
        costs.cost * b.made / spec.yield_base AS cost_made,
        last_day.last_day
    FROM batch_use AS u
    JOIN batch_made AS b ON b.batch_key = u.batch_key
    LEFT JOIN batch_loss AS l ON l.batch_key = u.batch_key
    LEFT JOIN spec_version AS spec ON spec.name_key = b.name_key AND spec.version = b.version AND spec.base = b.unit
    LEFT JOIN costs ON costs.name_key = b.name_key AND costs.version = b.version AND costs.made_on = b.made_on
    CROSS JOIN last_day
),
fates AS (
    SELECT
        *,
        CASE WHEN rest_poured THEN poured + rest ELSE poured END AS poured_away,
        CASE WHEN rest_spoiled THEN spoiled + rest ELSE spoiled END AS all_spoiled,
        CASE WHEN ended_on IS NULL AND last_day > use_by THEN rest ELSE 0 END AS left_at_use_by,
        CASE WHEN ended_on IS NULL AND (use_by IS NULL OR last_day <= use_by) THEN rest ELSE 0 END AS on_hand,
        missed_by_counts
            + CASE WHEN ended_on IS NOT NULL AND NOT rest_poured AND NOT rest_spoiled THEN rest ELSE 0 END AS unexplained
    FROM settled
)
SELECT
    batch,
    venue,
    preparation,
    version,
    storage,
    made_on,
    use_by,
    made,
    used,
    poured_away,
    all_spoiled AS spoiled,
    left_at_use_by,
    on_hand,
    unexplained,
    unit,
    ended_on,
    spoiled_on,
    last_good_on,
    cost_made,
    cost_made * least((poured_away + all_spoiled + left_at_use_by) / made, 1) AS cost_lost,
    last_day
FROM fates
