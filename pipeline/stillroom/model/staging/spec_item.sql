-- Every line of every spec version in force, in base units.
--
-- line: number of the line
-- item: what goes in: an ingredient, or another spec
-- item_kind: drink, preparation or garnish where it is made here, else ingredient
-- amount: how much goes into one making, in `base`
-- base: ml, g or each
WITH keyed AS (
    SELECT name_key(spec) AS name_key, version, line, name_key(item) AS item_key, amount, unit
    FROM current_spec_line
)
SELECT
    l.name_key,
    l.version,
    l.line,
    one.item,
    l.item_key,
    one.item_kind,
    l.amount * u.factor AS amount,
    u.base
FROM keyed AS l
JOIN unit AS u ON u.unit = l.unit
JOIN item_spelling AS one ON one.item_key = l.item_key
