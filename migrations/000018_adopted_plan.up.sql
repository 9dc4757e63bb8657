-- What must hold for a plan that somebody goes by. False for a kind that it does not know.
CREATE FUNCTION adopted_entry_can_be(kind text, content json) RETURNS boolean
    LANGUAGE plpgsql IMMUTABLE AS $$
DECLARE
    body json := content -> 'body';
BEGIN
    IF kind <> 'adopted_plan' THEN
        RETURN false;
    END IF;
    PERFORM public.refuse_unless(coalesce(body ->> 'title', '') <> ''
        AND body ->> 'of' IN ('warming', 'days', 'sales', 'yards')
        AND coalesce(json_array_length(body -> 'steps'), 0) + coalesce(json_array_length(body -> 'expects'), 0) > 0,
        'adopted_plan_says_something');
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
        OR contract_entry_can_be(kind, content)
        OR adopted_entry_can_be(kind, content))) NOT VALID;
