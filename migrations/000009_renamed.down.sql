REVOKE UPDATE (name) ON person FROM pullbook_operator;
