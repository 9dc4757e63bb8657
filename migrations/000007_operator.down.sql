REVOKE UPDATE (archived) ON book FROM pullbook_operator;
REVOKE UPDATE (name, time_zone, units) ON outfit FROM pullbook_operator;
REVOKE SELECT, UPDATE (revoked_at) ON tablet FROM pullbook_operator;

ALTER TABLE book
    DROP CONSTRAINT archived_not_negative,
    DROP COLUMN archived;

ALTER TABLE entry
    DROP CONSTRAINT kind_known,
    ADD CONSTRAINT kind_known CHECK (
        book_entry_can_be(number, kind, occurred_at, recorded_at, replaces, reason, content, digest)
        OR quality_entry_can_be(kind, content)
        OR import_entry_can_be(number, kind, replaces, content)) NOT VALID;

DROP FUNCTION operator_entry_can_be(text, uuid, json);
