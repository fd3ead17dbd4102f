-- The roll-up of the till, with the key that its spellings compare by.
--
-- quantity: serves or pieces sold, less what was taken back
SELECT day.*, spelt.item_key
FROM till_day AS day
-- Of a spelling that sells every day the key is made once.
JOIN (SELECT till_item, name_key(till_item) AS item_key FROM till_day GROUP BY till_item) AS spelt USING (till_item)
