-- What counts how much against a blend, by the names that the contract has for it. It is null where
-- the outfit goes by the usual weights, as all outfits do that are there already.
ALTER TABLE outfit
    ADD COLUMN blend_weights jsonb,
    ADD CONSTRAINT blend_weights_are_named CHECK (jsonb_typeof(blend_weights) = 'object');

-- A manager says them on the page of blends.
GRANT UPDATE (blend_weights) ON outfit TO pullbook_service, pullbook_operator;
