REVOKE UPDATE (decimal_mark) ON outfit FROM pullbook_service, pullbook_operator;
ALTER TABLE outfit DROP COLUMN decimal_mark;
