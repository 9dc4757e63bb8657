-- What was recorded stays; see the way down of version 3.
ALTER TABLE entry
    DROP CONSTRAINT kind_known,
    ADD CONSTRAINT kind_known CHECK (
        book_entry_can_be(number, kind, occurred_at, recorded_at, replaces, reason, content, digest)
        OR quality_entry_can_be(kind, content)) NOT VALID;
DROP FUNCTION import_entry_can_be(bigint, text, uuid, json);
