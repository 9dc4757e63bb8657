ALTER TABLE entry
    DROP CONSTRAINT kind_known,
    ADD CONSTRAINT kind_known CHECK (
        book_entry_can_be(number, kind, occurred_at, recorded_at, replaces, reason, content, digest)
        OR quality_entry_can_be(kind, content)
        OR import_entry_can_be(number, kind, replaces, content)
        OR operator_entry_can_be(kind, replaces, content)) NOT VALID;
DROP FUNCTION entry_times_can_be(timestamptz, timestamptz);
