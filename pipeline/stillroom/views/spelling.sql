-- One spelling and kind of every spec: that of its highest version. Names compare without case.
SELECT
    lower(spec) AS name_key,
    arg_max(spec, version) AS spec,
    arg_max(kind, version) AS kind
FROM current_spec
GROUP BY lower(spec)
