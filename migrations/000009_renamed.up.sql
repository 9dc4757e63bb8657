-- An archive that continues a book may tell that somebody is called otherwise since.
GRANT UPDATE (name) ON person TO pullbook_operator;
