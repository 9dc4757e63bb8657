-- The files of laboratories' certificates, each once. What a file is called, which
-- result it belongs to, who put it in and when stand in the entry that names it by its
-- SHA-256, so that the digest of the book covers them and, through the SHA-256, each
-- byte of the file.
CREATE TABLE certificate_file (
    outfit_id  uuid  NOT NULL REFERENCES book,
    sha256     bytea NOT NULL,
    media_type text  NOT NULL,
    content    bytea NOT NULL,
    PRIMARY KEY (outfit_id, sha256),
    CONSTRAINT content_has_its_digest CHECK (sha256 = sha256(content)),
    CONSTRAINT content_bounded CHECK (length(content) BETWEEN 1 AND 5242880),
    CONSTRAINT media_type_known CHECK (media_type IN ('application/pdf', 'image/jpeg', 'image/png'))
);
-- Such files are packed already: PostgreSQL need not try.
ALTER TABLE certificate_file ALTER COLUMN content SET STORAGE EXTERNAL;

CREATE TRIGGER append_only BEFORE UPDATE OR DELETE OR TRUNCATE ON certificate_file
    FOR EACH STATEMENT EXECUTE FUNCTION refuse_change();

ALTER TABLE certificate_file ENABLE ROW LEVEL SECURITY;
ALTER TABLE certificate_file FORCE ROW LEVEL SECURITY;
CREATE POLICY own_outfit ON certificate_file USING (outfit_id = this_outfit());

GRANT SELECT, INSERT ON certificate_file TO pullbook_service;
GRANT SELECT ON certificate_file TO pullbook_operator;

-- What must hold for an entry that names such a file. False for a kind that it does
-- not know.
CREATE FUNCTION certificate_entry_can_be(kind text, replaces uuid, content json) RETURNS boolean
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
        OR certificate_entry_can_be(kind, replaces, content))) NOT VALID;
