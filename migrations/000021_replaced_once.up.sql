-- Few entries replace another one. The rule that none is replaced twice needs an index of those
-- alone: the others need not be written into it.
ALTER TABLE entry DROP CONSTRAINT replaced_once;
CREATE UNIQUE INDEX replaced_once ON entry (outfit_id, replaces) WHERE replaces IS NOT NULL;
