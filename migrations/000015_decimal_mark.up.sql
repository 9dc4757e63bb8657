-- What stands before the decimals in the outfit's spreadsheets: a point or a comma. It is
-- empty where nobody said, as for all outfits that are there already.
ALTER TABLE outfit
    ADD COLUMN decimal_mark text NOT NULL DEFAULT '',
    ADD CONSTRAINT decimal_mark_known CHECK (decimal_mark IN ('', 'point', 'comma'));

-- A manager says it on the page; the outfit's other settings are the operator's alone.
GRANT UPDATE (decimal_mark) ON outfit TO pullbook_service, pullbook_operator;
