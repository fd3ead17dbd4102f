-- What the batches of a preparation are used from in each venue, as a number. Where any of its batches names no venue,
-- they serve the whole house: all venues' stock is then one.
--
-- name_key: the preparation's name without case
-- stock: number of the stock; the same in venues that share it
WITH shared AS (
    SELECT name_key, bool_or(venue IS NULL) AS by_house FROM batch_made GROUP BY name_key
),
venues AS (
    SELECT venue FROM till_day
    UNION
    SELECT venue FROM batch_made
)
SELECT
    shared.name_key,
    venues.venue,
    dense_rank() OVER (ORDER BY shared.name_key, CASE WHEN shared.by_house THEN NULL ELSE venues.venue END) AS stock
FROM shared
CROSS JOIN venues
