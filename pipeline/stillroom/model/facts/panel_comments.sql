-- What tasters said of a sample in words, each remark once however many scores it stands beside; the specs in one spelling.
--
-- session: one sitting
-- tasted_on: day of the sitting
-- panelist: who tasted
-- version: of the spec that was tasted
-- comment: as written
SELECT DISTINCT t.session, t.tasted_on, t.panelist, coalesce(one.spec, t.spec) AS spec, t.version, t.comment
FROM current_tasting AS t
LEFT JOIN spelling AS one ON one.name_key = name_key(t.spec)
WHERE t.comment IS NOT NULL
