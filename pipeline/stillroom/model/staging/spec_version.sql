-- Every version of every spec in force: what one making gives in its base unit, and the days written for it.
--
-- kind: drink, preparation or garnish
-- yield_base: what one making gives, in `base`
-- base: ml, g or each
-- keeps_days: days that a making keeps; null where nobody says
-- in_service_from: first day in service, as written
-- in_service_until: last day in service, as written
-- density_g_ml: g/ml at 20 °C, worked out from what is in it; null where a part is not known
SELECT
    one.name_key,
    one.spec,
    s.version,
    s.kind,
    s.yield_amount * u.factor AS yield_base,
    u.base,
    s.keeps_days,
    s.storage,
    s.in_service_from,
    s.in_service_until,
    density.density_g_ml
FROM current_spec AS s
JOIN spelling AS one ON one.name_key = name_key(s.spec)
JOIN unit AS u ON u.unit = s.yield_unit
LEFT JOIN spec_density AS density ON density.name_key = one.name_key AND density.version = s.version
