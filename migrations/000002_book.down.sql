DROP TABLE claim;
DROP TABLE entry;
DROP TABLE book;
DROP FUNCTION refuse_change();
DROP FUNCTION book_entry_can_be(bigint, text, timestamptz, timestamptz, uuid, text, json, bytea);
DROP FUNCTION refuse_unless(boolean, text);
