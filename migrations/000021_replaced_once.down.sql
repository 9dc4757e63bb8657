DROP INDEX replaced_once;
ALTER TABLE entry ADD CONSTRAINT replaced_once UNIQUE (outfit_id, replaces);
