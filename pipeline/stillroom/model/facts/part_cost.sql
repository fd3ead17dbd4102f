-- What each bought ingredient adds to the cost of a serve of a drink or a making of the rest, all nesting unfolded, over
-- each stretch of days with the same versions and prices. A spec that goes in and has no lines counts as bought, so
-- that it is missed and not taken for free; so does a line that is set aside.
--
-- first_day: first day of the stretch; 1900-01-01 where it is open
-- last_day: last day of the stretch; 9999-12-31 where it is open
-- item: what is bought; of a line that is set aside, words that say so; of a spec without lines, itself
-- amount: how much goes in, in `unit`; null where it cannot be told
-- unit: ml, g or each; null of a line that is set aside
-- cost: house currency; null where there is no price, or no way to it
WITH inside AS (
    SELECT DISTINCT name_key, spec, version, first_day, item_key, item_version FROM part_span
    UNION
    SELECT s.name_key, s.spec, s.version, e.first_day, s.name_key, s.version
    FROM spec_version AS s
    JOIN spec_epoch AS e ON e.name_key = s.name_key AND e.version = s.version
),
leaves AS (
    SELECT p.name_key, p.spec, p.version, p.first_day, p.item, p.item_key, p.amount, p.unit
    FROM part_span AS p
    ANTI JOIN spec_item AS i ON i.name_key = p.item_key AND i.version = p.item_version
    UNION ALL
    SELECT inside.name_key, inside.spec, inside.version, inside.first_day, aside.item, NULL, NULL, NULL
    FROM inside
    JOIN line_aside AS aside
        ON aside.name_key = inside.item_key AND coalesce(aside.version, inside.item_version) = inside.item_version
    UNION ALL
    SELECT s.name_key, s.spec, s.version, first_of_days(), s.spec, s.name_key, NULL, NULL
    FROM spec_version AS s
    ANTI JOIN spec_item AS i ON i.name_key = s.name_key AND i.version = s.version
),
days AS (
    SELECT DISTINCT name_key, version, first_day FROM leaves
    UNION
    SELECT DISTINCT leaves.name_key, leaves.version, p.priced_from
    FROM leaves
    JOIN price_span AS p ON p.item_key = leaves.item_key
),
stretches AS (
    SELECT
        days.name_key,
        days.version,
        days.first_day,
        coalesce(
            lead(days.first_day) OVER (PARTITION BY days.name_key, days.version ORDER BY days.first_day) - 1,
            last_of_days()
        ) AS last_day,
        epoch.first_day AS epoch
    FROM days
    ASOF JOIN spec_epoch AS epoch
        ON epoch.name_key = days.name_key AND epoch.version = days.version AND days.first_day >= epoch.first_day
),
priced AS (
    SELECT
        leaves.name_key,
        leaves.spec,
        leaves.version,
        s.first_day,
        s.last_day,
        leaves.item,
        leaves.item_key,
        leaves.amount,
        leaves.unit,
        in_base(leaves.amount, leaves.unit, p.base, p.density_g_ml) * p.unit_cost AS cost
    FROM stretches AS s
    JOIN leaves ON leaves.name_key = s.name_key AND leaves.version = s.version AND leaves.first_day = s.epoch
    ASOF LEFT JOIN price_span AS p ON p.item_key = leaves.item_key AND s.first_day >= p.priced_from
)
SELECT
    name_key,
    spec,
    version,
    first_day,
    last_day,
    item,
    item_key,
    -- One part without leaves the whole item without: a sum of some would look like all.
    CASE WHEN count(amount) = count(*) THEN CAST(sum(CAST(amount AS DECIMAL(28, 10))) AS DOUBLE) END AS amount,
    unit,
    CASE WHEN count(cost) = count(*) THEN CAST(sum(CAST(cost AS DECIMAL(18, 8))) AS DOUBLE) END AS cost
FROM priced
GROUP BY name_key, spec, version, first_day, last_day, item, item_key, unit
