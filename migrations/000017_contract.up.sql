-- What must hold for a contract with a buyer. False for a kind that it does not know.
CREATE FUNCTION contract_entry_can_be(kind text, content json) RETURNS boolean
    LANGUAGE plpgsql IMMUTABLE AS $$
DECLARE
    body json := content -> 'body';
BEGIN
    IF kind <> 'contract' THEN
        RETURN false;
    END IF;
    PERFORM public.refuse_unless(body ->> 'buyer_id' IS NOT NULL
        AND body -> 'rule_set' ->> 'rule_set_id' IS NOT NULL
        AND (body ->> 'most_g')::bigint > 0
        AND coalesce((body ->> 'promised_g')::bigint, 0) BETWEEN 0 AND (body ->> 'most_g')::bigint
        AND coalesce(body ->> 'last_day', '2026-08-22') ~ '^\d{4}-\d\d-\d\d$', 'contract_says_what_is_taken');
    RETURN true;
END
$$;

-- It does not look back: a database that went down from a later version may hold
-- entries of that version's kinds.
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
        OR contract_entry_can_be(kind, content))) NOT VALID;
