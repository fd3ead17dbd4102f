-- What was recorded as poured away or spoiled of a batch, in its stock unit, and the day it ended by an event: 'used up',
-- or a loss without an amount, which took all that was left; unless later something was found in it: counted, also on the
-- same day, or lost. After its use-by a batch is used no more, and a loss with an amount ends it, too: what is then missing
-- is unexplained, not left with nothing logged. On the day itself it still serves, and a loss takes what it says. And the
-- day it was found spoiled, and the last day before on which something was counted in it or poured from it.
--
-- poured: how much was poured away, in the unit of the stock
-- spoiled: how much spoiled, in the unit of the stock
-- ended_on: day on which an event ended it; null while none has
-- spoiled_on: day on which it was found spoiled; null where it was not
-- handled_on: last day before that on which something was counted in it or poured from it
-- rest_spoiled: whether all that was left spoiled then
-- rest_poured: whether all that was left was poured away then
WITH ends AS (
    SELECT
        *,
        max(happened_on) FILTER (event = 'counted' AND amount > 0) OVER (PARTITION BY batch_key) AS last_counted,
        max(happened_on) FILTER (is_loss AND recorded IS DISTINCT FROM 0) OVER (PARTITION BY batch_key) AS last_lost,
        min(happened_on) FILTER (event = 'spoiled' AND recorded IS DISTINCT FROM 0)
            OVER (PARTITION BY batch_key) AS spoiled_on
    FROM batch_happening
),
closings AS (
    SELECT
        *,
        (event = 'used up' OR takes_all OR (amount > 0 AND happened_on > use_by AND is_loss))
        AND happened_on > coalesce(last_counted, DATE '-infinity')
        AND happened_on >= coalesce(last_lost, DATE '-infinity') AS closes
    FROM ends
),
summed AS (
    SELECT
        batch_key,
        coalesce(sum(amount) FILTER (event = 'poured away'), 0) AS poured,
        coalesce(sum(amount) FILTER (event = 'spoiled'), 0) AS spoiled,
        min(happened_on) FILTER (closes) AS ended_on,
        min(happened_on) FILTER (closes AND takes_all AND event = 'spoiled') AS all_spoiled_on,
        min(happened_on) FILTER (closes AND takes_all AND event = 'poured away') AS all_poured_on,
        any_value(spoiled_on) AS spoiled_on,
        max(happened_on) FILTER (
            event IN ('counted', 'poured away') AND recorded > 0 AND (spoiled_on IS NULL OR happened_on < spoiled_on)
        ) AS handled_on
    FROM closings
    GROUP BY batch_key
)
SELECT
    batch_key,
    poured,
    spoiled,
    ended_on,
    spoiled_on,
    handled_on,
    coalesce(all_spoiled_on = ended_on, FALSE) AS rest_spoiled,
    coalesce(all_poured_on = ended_on AND all_spoiled_on IS DISTINCT FROM ended_on, FALSE) AS rest_poured
FROM summed
