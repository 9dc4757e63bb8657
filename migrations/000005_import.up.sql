-- What must hold for an entry that says what came in with a sheet. False for a
-- kind that it does not know.
CREATE FUNCTION import_entry_can_be(number bigint, kind text, replaces uuid, content json) RETURNS boolean
    LANGUAGE plpgsql IMMUTABLE AS $$
DECLARE
    body json := content -> 'body';
BEGIN
    IF kind <> 'import' THEN
        RETURN false;
    END IF;
    PERFORM public.refuse_unless(replaces IS NULL
        AND (body ->> 'entries')::bigint > 0
        AND (body ->> 'entries')::bigint < number, 'import_follows_its_entries');
    RETURN true;
END
$$;

-- A name that an import took is free again once the import is withdrawn: use_no
-- counts that, as it counts how often a container's number was freed. The rule
-- does not look back, as in version 3: there may be entries of later kinds.
ALTER TABLE entry
    DROP CONSTRAINT kind_known,
    ADD CONSTRAINT kind_known CHECK (
        book_entry_can_be(number, kind, occurred_at, recorded_at, replaces, reason, content, digest)
        OR quality_entry_can_be(kind, content)
        OR import_entry_can_be(number, kind, replaces, content)) NOT VALID;
