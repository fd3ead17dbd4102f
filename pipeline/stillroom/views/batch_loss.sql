-- What was recorded as poured away or spoiled of a batch, in its stock unit, and the day it ended by an event: 'used up',
-- or a loss that no later event follows, or one without an amount, which took all that was left.
WITH losses AS (
    SELECT
        batch_key,
        event,
        happened_on,
        amount,
        happened_on = max(happened_on) OVER (PARTITION BY batch_key) AS is_last
    FROM batch_happening
),
ends AS (
    SELECT
        batch_key,
        coalesce(sum(amount) FILTER (event = 'poured away'), 0) AS poured,
        coalesce(sum(amount) FILTER (event = 'spoiled'), 0) AS spoiled,
        min(happened_on) FILTER (
            event = 'used up' OR (event <> 'counted' AND (amount IS NULL OR is_last))
        ) AS ended_on,
        min(happened_on) FILTER (event = 'spoiled' AND amount IS NULL) AS all_spoiled_on,
        min(happened_on) FILTER (event = 'poured away' AND amount IS NULL) AS all_poured_on
    FROM losses
    GROUP BY batch_key
)
SELECT
    batch_key,
    poured,
    spoiled,
    ended_on,
    coalesce(all_spoiled_on = ended_on, FALSE) AS rest_spoiled,
    coalesce(all_poured_on = ended_on AND all_spoiled_on IS DISTINCT FROM ended_on, FALSE) AS rest_poured
FROM ends
