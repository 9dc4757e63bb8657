-- The entries that name pictures stay, as all entries do, and so do the files.
CREATE OR REPLACE FUNCTION certificate_entry_can_be(kind text, replaces uuid, content json) RETURNS boolean
    LANGUAGE plpgsql IMMUTABLE AS $$
DECLARE
    body json := content -> 'body';
BEGIN
    IF kind <> 'laboratory_certificate' THEN
        RETURN false;
    END IF;
    PERFORM public.refuse_unless(replaces IS NULL
        AND body ->> 'reading_id' IS NOT NULL
        AND body ->> 'sha256' ~ '^[0-9a-f]{64}$'
        AND (body ->> 'bytes')::bigint BETWEEN 1 AND 5242880
        AND body ->> 'media_type' IN ('application/pdf', 'image/jpeg', 'image/png')
        AND body ->> 'file_name' ~ '\S', 'certificate_names_its_file');
    RETURN true;
END
$$;
