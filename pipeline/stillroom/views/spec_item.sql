-- Every spec line in base units; a line whose item is a spec says which version of it: the highest that came into
-- service no later than the line's own version went out (the first, where none had).
WITH lines AS (
    SELECT
        lower(l.spec) AS name_key,
        l.version,
        l.line,
        l.item,
        lower(l.item) AS item_key,
        l.amount * u.factor AS amount,
        u.base,
        coalesce(max(own.last_day), DATE '9999-12-31') AS until
    FROM current_spec_line AS l
    JOIN unit AS u ON u.unit = l.unit
    LEFT JOIN service_span AS own ON own.name_key = lower(l.spec) AND own.version = l.version
    GROUP BY ALL
),
child AS (
    SELECT
        lines.name_key,
        lines.version,
        lines.line,
        coalesce(max(s.version) FILTER (s.first_day <= lines.until), min(s.version)) AS item_version
    FROM lines
    JOIN service_span AS s ON s.name_key = lines.item_key
    GROUP BY lines.name_key, lines.version, lines.line
)
SELECT
    lines.name_key,
    lines.version,
    lines.line,
    coalesce(spelling.spec, lines.item) AS item,
    lines.item_key,
    coalesce(spelling.kind, 'ingredient') AS item_kind,
    child.item_version,
    lines.amount,
    lines.base
FROM lines
LEFT JOIN spelling ON spelling.name_key = lines.item_key
LEFT JOIN child
    ON child.name_key = lines.name_key AND child.version = lines.version AND child.line = lines.line
