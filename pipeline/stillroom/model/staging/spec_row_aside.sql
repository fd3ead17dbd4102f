-- Rows of the spec book that are set aside: without them a spec looks whole and is not.
--
-- table_name: spec or spec_line
-- spec: as the row has it
-- version: as the row has it; null where that is no number: the row may be of any
-- written: the version as written
-- column: the column that is wrong; null where it is the whole row
-- problem: what is wrong with it
-- value: what stands there
-- rule: what sorts such problems: cell, row, malformed, key, reference, doubtful
SELECT table_name, name AS spec, name_key, version, written, file, row_number, "column", problem, "value", rule
FROM row_aside
WHERE table_name IN ('spec', 'spec_line')
