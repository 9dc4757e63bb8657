-- The entries that name files stay, as all entries do. The files themselves are lost,
-- and each audit will say so: make a backup or an archive first.
ALTER TABLE entry
    DROP CONSTRAINT kind_known,
    ADD CONSTRAINT kind_known CHECK (
        entry_times_can_be(occurred_at, recorded_at) AND (
        book_entry_can_be(number, kind, occurred_at, recorded_at, replaces, reason, content, digest)
        OR quality_entry_can_be(kind, content)
        OR import_entry_can_be(number, kind, replaces, content)
        OR operator_entry_can_be(kind, replaces, content))) NOT VALID;
DROP FUNCTION certificate_entry_can_be(text, uuid, json);
DROP TABLE certificate_file;
