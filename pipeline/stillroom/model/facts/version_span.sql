-- What every question by day looks up: which version of a spec is meant, used, or may still be in stock, from when to
-- when. May still be in stock: what is used; a batch that has not ended; and where the book has no batch of a version,
-- one made on its last day in service, for as long as it keeps (for good, where nobody says how long).
--
-- state: service (the version meant: one on each day), use (the version used: one on each day), stock (each that there
--   may be some of)
-- in_service: of `service`: whether the days written for the version hold it; false where it only stands in
-- first_day: first day of the span; 1900-01-01 where it is open
-- last_day: last day of the span; 9999-12-31 where it is open
SELECT name_key, spec, version, 'service' AS state, in_service, first_day, last_day
FROM service_span
UNION ALL
SELECT name_key, spec, version, 'use', NULL, first_day, last_day
FROM version_in_use
UNION ALL
SELECT name_key, spec, version, 'stock', NULL, first_day, last_day
FROM version_in_use
UNION ALL
SELECT r.name_key, s.spec, r.version, 'stock', NULL, r.first_day, r.last_day
FROM batch_run AS r
JOIN spec_version AS s ON s.name_key = r.name_key AND s.version = r.version
WHERE r.state = 'shelf'
UNION ALL
SELECT
    span.name_key,
    span.spec,
    span.version,
    'stock',
    NULL,
    span.first_day,
    CAST(least(span.last_day + CAST(floor(s.keeps_days) AS INTEGER), last_of_days()) AS DATE)
FROM service_span AS span
JOIN spec_version AS s ON s.name_key = span.name_key AND s.version = span.version
ANTI JOIN batch_made AS b ON b.name_key = span.name_key AND b.version = span.version
WHERE span.in_service AND s.kind <> 'drink'
