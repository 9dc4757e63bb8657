-- What was recorded stays: entries are never deleted. Where there are entries of
-- the kinds that came with this version, the older one cannot be gone back to.
ALTER TABLE entry
    DROP CONSTRAINT kind_known,
    ADD CONSTRAINT kind_known CHECK (
        book_entry_can_be(number, kind, occurred_at, recorded_at, replaces, reason, content, digest));
DROP FUNCTION quality_entry_can_be(text, json);
