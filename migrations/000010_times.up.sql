-- No entry happened at an infinite time, or was recorded at one. There may be such
-- entries already, which every reader sets aside: the rule does not look back.
CREATE FUNCTION entry_times_can_be(occurred_at timestamptz, recorded_at timestamptz) RETURNS boolean
    LANGUAGE plpgsql IMMUTABLE AS $$
BEGIN
    IF isfinite(occurred_at) AND isfinite(recorded_at) THEN
        RETURN true;
    END IF;
    PERFORM public.refuse_unless(false, 'times_finite');
    RETURN false;
END
$$;

ALTER TABLE entry
    DROP CONSTRAINT kind_known,
    ADD CONSTRAINT kind_known CHECK (
        entry_times_can_be(occurred_at, recorded_at) AND (
        book_entry_can_be(number, kind, occurred_at, recorded_at, replaces, reason, content, digest)
        OR quality_entry_can_be(kind, content)
        OR import_entry_can_be(number, kind, replaces, content)
        OR operator_entry_can_be(kind, replaces, content))) NOT VALID;
