-- All that the database asks of an entry, as one function: PostgreSQL reads the text of a check
-- anew for each statement, and that of one function is short. Most entries are of kinds of which
-- only the service can say what their content must be. What every entry has to keep is said of
-- them here once more, so that the functions are called for the others, and where something is
-- wrong: they name the rule.
CREATE FUNCTION entry_can_be(number bigint, kind text, occurred_at timestamptz, recorded_at timestamptz,
                             replaces uuid, reason text, content json, digest bytea) RETURNS boolean
    LANGUAGE plpgsql IMMUTABLE AS $$
BEGIN
    IF kind IN ('reading', 'pull', 'run', 'run_end', 'wash', 'temperature_log')
       AND number > 0 AND length(digest) = 32 AND replaces IS NULL
       AND isfinite(occurred_at) AND isfinite(recorded_at)
       AND occurred_at <= recorded_at + interval '1 day 1 minute' THEN
        RETURN true;
    END IF;
    RETURN public.entry_times_can_be(occurred_at, recorded_at) AND (
        public.book_entry_can_be(number, kind, occurred_at, recorded_at, replaces, reason, content, digest)
        OR public.quality_entry_can_be(kind, content)
        OR public.import_entry_can_be(number, kind, replaces, content)
        OR public.operator_entry_can_be(kind, replaces, content)
        OR public.certificate_entry_can_be(kind, replaces, content)
        OR public.prepared_entry_can_be(kind, content)
        OR public.contract_entry_can_be(kind, content)
        OR public.adopted_entry_can_be(kind, content));
END
$$;

ALTER TABLE entry
    DROP CONSTRAINT kind_known,
    ADD CONSTRAINT kind_known CHECK (
        entry_can_be(number, kind, occurred_at, recorded_at, replaces, reason, content, digest)) NOT VALID;
