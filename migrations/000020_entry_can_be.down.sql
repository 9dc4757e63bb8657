ALTER TABLE entry
    DROP CONSTRAINT kind_known,
    ADD CONSTRAINT kind_known CHECK (
        entry_times_can_be(occurred_at, recorded_at) AND (
        book_entry_can_be(number, kind, occurred_at, recorded_at, replaces, reason, content, digest)
        OR quality_entry_can_be(kind, content)
        OR import_entry_can_be(number, kind, replaces, content)
        OR operator_entry_can_be(kind, replaces, content)
        OR certificate_entry_can_be(kind, replaces, content)
        OR prepared_entry_can_be(kind, content)
        OR contract_entry_can_be(kind, content)
        OR adopted_entry_can_be(kind, content))) NOT VALID;
DROP FUNCTION entry_can_be(bigint, text, timestamptz, timestamptz, uuid, text, json, bytea);
