-- An entry may name a picture that was taken with another entry. Its file is kept with
-- those of laboratories' certificates, in certificate_file.
CREATE OR REPLACE FUNCTION certificate_entry_can_be(kind text, replaces uuid, content json) RETURNS boolean
    LANGUAGE plpgsql IMMUTABLE AS $$
DECLARE
    body json := content -> 'body';
BEGIN
    CASE kind
    WHEN 'laboratory_certificate' THEN
        PERFORM public.refuse_unless(replaces IS NULL
            AND body ->> 'reading_id' IS NOT NULL
            AND body ->> 'sha256' ~ '^[0-9a-f]{64}$'
            AND (body ->> 'bytes')::bigint BETWEEN 1 AND 5242880
            AND body ->> 'media_type' IN ('application/pdf', 'image/jpeg', 'image/png')
            AND body ->> 'file_name' ~ '\S', 'certificate_names_its_file');
    WHEN 'photo' THEN
        PERFORM public.refuse_unless(replaces IS NULL
            AND body ->> 'entry_id' IS NOT NULL
            AND body ->> 'sha256' ~ '^[0-9a-f]{64}$'
            AND (body ->> 'bytes')::bigint BETWEEN 1 AND 524288
            AND body ->> 'media_type' IN ('image/jpeg', 'image/png')
            AND body ->> 'file_name' ~ '\S', 'photo_names_its_file');
    ELSE
        RETURN false;
    END CASE;
    RETURN true;
END
$$;
