-- One spelling and kind of every spec: that of its highest version.
--
-- kind: drink, preparation or garnish
SELECT name_key(spec) AS name_key, arg_max(spec, version) AS spec, arg_max(kind, version) AS kind
FROM current_spec
GROUP BY ALL
