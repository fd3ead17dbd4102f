-- How names compare, everywhere. Keys are made once, in staging.
CREATE OR REPLACE MACRO name_key(name) AS {name_key};

-- An amount in ml, g or each in another of them; null where no density joins the two.
CREATE OR REPLACE MACRO in_base(amount, base, wanted, density_g_ml) AS CASE
    WHEN base = wanted THEN amount
    WHEN base = 'ml' AND wanted = 'g' THEN amount * density_g_ml
    WHEN base = 'g' AND wanted = 'ml' THEN amount / density_g_ml
END;

-- Before every day and after it: where a span is open.
CREATE OR REPLACE MACRO first_of_days() AS DATE '1900-01-01';
CREATE OR REPLACE MACRO last_of_days() AS DATE '9999-12-31';
