-- The roll-up of the till, with the key that its spellings compare by.
--
-- quantity: serves or pieces sold, less what was taken back
SELECT *, name_key(till_item) AS item_key FROM till_day
