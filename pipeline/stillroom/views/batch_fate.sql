-- What became of every batch: first made, first used, none after its use-by; recorded events override what the sales
-- imply, and the difference is `unexplained`.
--
-- Demand of a preparation is laid end to end (cumulative use by day). Batches in the order made each take a stretch of
-- it: from where the batch before stopped (or its own first day) for as much as it holds, not beyond its last day.
-- Later batches never begin earlier, so what is left of the demand is always the rest of the line: one number carries
-- the state from batch to batch. A count resets what the batch holds: a bottle that still held something when it was
-- counted has served all the demand up to then, whatever was booked for it; one counted empty serves nothing after.
-- An event 'used up', 'spoiled' or 'poured away' ends the batch unless a later event shows that some was left.
WITH RECURSIVE shared AS (
    -- Batches without a venue serve the whole house: then all venues' use of that preparation is one demand.
    SELECT name_key, bool_or(venue IS NULL) AS by_house FROM batch_made GROUP BY name_key
),
events AS (
    SELECT
        lower(e.batch) AS batch_key,
        e.happened_on,
        e.event,
        CASE
            WHEN u.base = b.unit THEN e.amount * u.factor
            WHEN u.base = 'ml' AND b.unit = 'g' THEN e.amount * u.factor * b.density_g_ml
            WHEN u.base = 'g' AND b.unit = 'ml' THEN e.amount * u.factor / b.density_g_ml
        END AS amount,
        max(e.happened_on) OVER (PARTITION BY lower(e.batch)) AS last_event_on
    FROM current_batch_event AS e
    JOIN batch_made AS b ON lower(b.batch) = lower(e.batch)
    LEFT JOIN unit AS u ON u.unit = e.unit
),
losses AS (
    SELECT
        batch_key,
        coalesce(sum(amount) FILTER (event = 'poured away'), 0) AS poured,
        coalesce(sum(amount) FILTER (event = 'spoiled'), 0) AS spoiled,
        min(happened_on) FILTER (
            event = 'used up'
            OR (event <> 'counted' AND (amount IS NULL OR happened_on = last_event_on))
        ) AS ended_on
    FROM events
    GROUP BY batch_key
),
endings AS (
    -- What happened on the day the batch ended; a loss without an amount took all that was left.
    SELECT
        e.batch_key,
        bool_or(e.event = 'spoiled' AND e.amount IS NULL) AS rest_spoiled,
        bool_or(e.event = 'poured away' AND e.amount IS NULL) AS rest_poured
    FROM events AS e
    JOIN losses AS l ON l.batch_key = e.batch_key AND l.ended_on = e.happened_on
    GROUP BY e.batch_key
),
stocks AS (
    -- What a preparation's batches are used from, in each venue: a number, since joining and sorting by it is quick.
    SELECT
        s.name_key,
        v.venue,
        dense_rank() OVER (ORDER BY s.name_key, CASE WHEN s.by_house THEN NULL ELSE v.venue END) AS stock
    FROM shared AS s
    CROSS JOIN (SELECT venue FROM till_day UNION SELECT venue FROM batch_made) AS v
),
demand AS (
    SELECT stocks.stock, u.business_date, sum(CAST(u.amount AS DECIMAL(18, 6))) AS amount
    FROM preparation_use AS u
    JOIN stocks ON stocks.name_key = lower(u.preparation) AND stocks.venue IS NOT DISTINCT FROM u.venue
    JOIN stock_unit AS unit ON unit.name_key = stocks.name_key AND unit.base = u.unit
    GROUP BY stocks.stock, u.business_date
),
line AS (
    SELECT
        stock,
        business_date,
        CAST(sum(greatest(amount, 0)) OVER (PARTITION BY stock ORDER BY business_date) AS DOUBLE) AS through
    FROM demand
),
ordered AS (
    SELECT
        lower(b.batch) AS batch_key,
        stocks.stock,
        b.made_on,
        b.made,
        coalesce(l.poured, 0) AS poured,
        coalesce(l.spoiled, 0) AS spoiled,
        least(coalesce(b.use_by, DATE '9999-12-31'), coalesce(l.ended_on, DATE '9999-12-31')) AS until,
        row_number() OVER (
            PARTITION BY stocks.stock ORDER BY b.made_on, b.use_by NULLS LAST, b.batch
        ) AS place
    FROM batch_made AS b
    JOIN stocks ON stocks.name_key = b.name_key AND stocks.venue IS NOT DISTINCT FROM b.venue
    LEFT JOIN losses AS l ON l.batch_key = lower(b.batch)
    WHERE b.made IS NOT NULL
),
counts AS (
    SELECT
        o.batch_key,
        list(
            struct_pack(
                through := coalesce(line.through, 0),
                counted := c.amount,
                lost_later := coalesce(
                    (
                        SELECT sum(later.amount) FROM events AS later
                        WHERE later.batch_key = c.batch_key AND later.happened_on > c.happened_on
                            AND later.event IN ('poured away', 'spoiled')
                    ),
                    0
                )
            )
            ORDER BY c.happened_on
        ) AS counts
    FROM ordered AS o
    JOIN events AS c ON c.batch_key = o.batch_key AND c.event = 'counted' AND c.amount IS NOT NULL
        AND c.happened_on <= o.until
    ASOF LEFT JOIN line ON line.stock = o.stock AND c.happened_on >= line.business_date
    GROUP BY o.batch_key
),
placed AS (
    SELECT
        o.*,
        coalesce(before.through, 0) AS line_before,
        coalesce(upto.through, 0) AS line_until,
        counts.counts
    FROM ordered AS o
    ASOF LEFT JOIN line AS before
        ON before.stock = o.stock AND o.made_on > before.business_date
    ASOF LEFT JOIN line AS upto
        ON upto.stock = o.stock AND o.until >= upto.business_date
    LEFT JOIN counts ON counts.batch_key = o.batch_key
),
taken AS (
    SELECT
        stock, CAST(0 AS BIGINT) AS place, CAST(NULL AS VARCHAR) AS batch_key,
        CAST(0 AS DOUBLE) AS stop, CAST(0 AS DOUBLE) AS held, CAST(0 AS DOUBLE) AS used
    FROM placed
    WHERE place = 1
    UNION ALL
    SELECT
        step.stock, step.place, step.batch_key,
        step.start + least(step.held, greatest(step.line_until - step.start, 0)),
        step.held,
        least(step.held, greatest(step.line_until - step.start, 0))
    FROM (
        SELECT
            p.stock, p.place, p.batch_key, p.line_until,
            greatest(t.stop, p.line_before) AS start,
            list_reduce(
                coalesce(p.counts, []),
                lambda so_far, c: struct_pack(
                    through := CAST(0 AS DOUBLE),
                    counted := CASE
                        WHEN c.counted > 0
                            THEN greatest(c.through - greatest(t.stop, p.line_before), 0)
                                + greatest(c.counted - c.lost_later, 0)
                        ELSE least(so_far.counted, greatest(c.through - greatest(t.stop, p.line_before), 0))
                    END,
                    lost_later := CAST(0 AS DOUBLE)
                ),
                struct_pack(
                    through := CAST(0 AS DOUBLE),
                    counted := greatest(p.made - p.poured - p.spoiled, 0),
                    lost_later := CAST(0 AS DOUBLE)
                )
            ).counted AS held
        FROM taken AS t
        JOIN placed AS p ON p.stock = t.stock AND p.place = t.place + 1
    ) AS step
),
settled AS (
    SELECT
        b.batch,
        b.venue,
        b.preparation,
        b.name_key,
        b.version,
        b.made_on,
        b.use_by,
        b.unit,
        b.made,
        l.ended_on,
        t.used,
        t.held - t.used AS rest,
        b.made - coalesce(l.poured, 0) - coalesce(l.spoiled, 0) - t.held AS missed_by_counts,
        coalesce(l.poured, 0) AS poured,
        coalesce(l.spoiled, 0) AS spoiled,
        coalesce(e.rest_spoiled, FALSE) AS rest_spoiled,
        coalesce(e.rest_poured, FALSE) AND NOT coalesce(e.rest_spoiled, FALSE) AS rest_poured,
        last_day.last_day
    FROM taken AS t
    JOIN batch_made AS b ON lower(b.batch) = t.batch_key
    LEFT JOIN losses AS l ON l.batch_key = t.batch_key
    LEFT JOIN endings AS e ON e.batch_key = t.batch_key
    CROSS JOIN last_day
),
costed AS (
    SELECT
        s.*,
        c.cost * s.made / u.yield_base AS cost_made
    FROM settled AS s
    LEFT JOIN spec_unit AS u ON u.name_key = s.name_key AND u.version = s.version AND u.base = s.unit
    ASOF LEFT JOIN spec_cost AS c
        ON lower(c.spec) = s.name_key AND c.version = s.version AND s.made_on >= c.priced_from
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
    FROM costed
)
SELECT
    batch,
    venue,
    preparation,
    version,
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
    cost_made,
    cost_made * least((poured_away + all_spoiled + left_at_use_by) / made, 1) AS cost_lost,
    last_day
FROM fates
