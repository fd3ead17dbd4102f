-- The unit a preparation's stock is kept in: that of its highest version; with a density where ml and g must meet.
--
-- base: ml, g or each
-- density_g_ml: g/ml at 20 °C; null where it is not known
SELECT name_key, arg_max(base, version) AS base, arg_max(density_g_ml, version) AS density_g_ml
FROM spec_version
WHERE kind <> 'drink'
GROUP BY name_key
