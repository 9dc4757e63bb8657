DROP TABLE claim;
DROP TABLE entry;
DROP TABLE book;
DROP FUNCTION refuse_change();
