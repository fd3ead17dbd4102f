-- Yield of every version in its base unit (ml, g, each), and the density that joins ml and g where it is known.
SELECT
    lower(s.spec) AS name_key,
    s.spec,
    s.version,
    s.kind,
    s.yield_amount * u.factor AS yield_base,
    u.base AS base,
    density.density_g_ml
FROM current_spec AS s
JOIN unit AS u ON u.unit = s.yield_unit
LEFT JOIN spec_density AS density ON lower(density.spec) = lower(s.spec) AND density.version = s.version
