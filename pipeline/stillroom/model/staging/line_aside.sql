-- Lines of the spec book that are set aside: what they say is lacking in the spec.
--
-- version: of the spec; null where the row may be of any
-- item: words that name the line where an item's name would stand
SELECT DISTINCT name_key, version, 'a line of ' || spec || ' that is set aside' AS item
FROM spec_row_aside
WHERE table_name = 'spec_line'
