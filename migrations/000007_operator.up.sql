-- Who may do what, and how the outfit is set up, comes into the outfit's own
-- chain: each change of these tables is an entry, stored in the same transaction.

-- What must hold for such an entry. False for a kind that it does not know.
CREATE FUNCTION operator_entry_can_be(kind text, replaces uuid, content json) RETURNS boolean
    LANGUAGE plpgsql IMMUTABLE AS $$
DECLARE
    body json := content -> 'body';
    about text[];
BEGIN
    IF kind <> 'operator' THEN
        RETURN false;
    END IF;
    about := ARRAY(SELECT json_object_keys(body));
    PERFORM public.refuse_unless(replaces IS NULL
        AND cardinality(about) = 1
        AND about[1] IN ('outfit', 'person', 'token', 'feed_key', 'tablet')
        AND body #>> ARRAY[about[1], 'id'] IS NOT NULL, 'operator_entry_tells_of_one_row');
    RETURN true;
END
$$;

-- It does not look back: a database that went down from a later version may hold
-- entries of that version's kinds.
ALTER TABLE entry
    DROP CONSTRAINT kind_known,
    ADD CONSTRAINT kind_known CHECK (
        book_entry_can_be(number, kind, occurred_at, recorded_at, replaces, reason, content, digest)
        OR quality_entry_can_be(kind, content)
        OR import_entry_can_be(number, kind, replaces, content)
        OR operator_entry_can_be(kind, replaces, content)) NOT VALID;

-- An archive carries no secrets. Of rows whose last entry has this number or a
-- lower one, an audit does not miss what they sign in with.
ALTER TABLE book
    ADD COLUMN archived bigint NOT NULL DEFAULT 0,
    ADD CONSTRAINT archived_not_negative CHECK (archived >= 0);

GRANT SELECT, UPDATE (revoked_at) ON tablet TO pullbook_operator;
GRANT UPDATE (name, time_zone, units) ON outfit TO pullbook_operator;
GRANT UPDATE (archived) ON book TO pullbook_operator;

-- Books that are there already begin with how their rows are found now. The
-- owner of the tables need not be a superuser, and then sees rows only while
-- row-level security is not forced.
ALTER TABLE outfit NO FORCE ROW LEVEL SECURITY;
ALTER TABLE person NO FORCE ROW LEVEL SECURITY;
ALTER TABLE token NO FORCE ROW LEVEL SECURITY;
ALTER TABLE feed_key NO FORCE ROW LEVEL SECURITY;
ALTER TABLE tablet NO FORCE ROW LEVEL SECURITY;
ALTER TABLE book NO FORCE ROW LEVEL SECURITY;
ALTER TABLE entry NO FORCE ROW LEVEL SECURITY;

DO $$
DECLARE
    -- Times as the entry's digest covers them.
    moment CONSTANT text := 'YYYY-MM-DD"T"HH24:MI:SS.US"Z"';
    recorded CONSTANT timestamptz := date_trunc('microseconds', now());
    at_text CONSTANT text := to_char(recorded AT TIME ZONE 'UTC', moment);
    found record;
    id uuid;
    told text;
    canonical text;
BEGIN
    FOR found IN
        SELECT f.outfit_id, json_build_object('body', json_build_object(f.about, json_strip_nulls(f.state)), 'via', 'as_found')::text AS content
          FROM (SELECT o.outfit_id, 1 AS rank, o.created_at, o.outfit_id AS row_id, 'outfit' AS about,
                       json_build_object('id', o.outfit_id, 'name', o.name, 'time_zone', o.time_zone, 'units', o.units,
                           'made_at', to_char(o.created_at AT TIME ZONE 'UTC', moment)) AS state
                  FROM outfit o
                UNION ALL
                SELECT p.outfit_id, 2, p.created_at, p.person_id, 'person',
                       json_build_object('id', p.person_id, 'name', p.name, 'role', p.role,
                           'made_at', to_char(p.created_at AT TIME ZONE 'UTC', moment),
                           'left_at', to_char(p.left_at AT TIME ZONE 'UTC', moment),
                           'password_sha256', encode(sha256(convert_to(p.password_hash, 'UTF8')), 'hex'),
                           'unlock_sha256', encode(sha256(convert_to(p.unlock_hash, 'UTF8')), 'hex'),
                           'sessions', p.session_generation)
                  FROM person p
                UNION ALL
                SELECT t.outfit_id, 3, t.created_at, t.token_id, 'token',
                       json_build_object('id', t.token_id, 'person_id', t.person_id, 'name', t.name,
                           'made_at', to_char(t.created_at AT TIME ZONE 'UTC', moment),
                           'revoked_at', to_char(t.revoked_at AT TIME ZONE 'UTC', moment),
                           'sha256', encode(sha256(t.hash), 'hex'))
                  FROM token t
                UNION ALL
                SELECT k.outfit_id, 4, k.created_at, k.feed_key_id, 'feed_key',
                       json_build_object('id', k.feed_key_id, 'name', k.name, 'feed', k.feed, 'made_by', k.made_by,
                           'made_at', to_char(k.created_at AT TIME ZONE 'UTC', moment),
                           'revoked_at', to_char(k.revoked_at AT TIME ZONE 'UTC', moment),
                           'sha256', encode(sha256(k.hash), 'hex'))
                  FROM feed_key k
                UNION ALL
                SELECT d.outfit_id, 5, d.created_at, d.tablet_id, 'tablet',
                       json_build_object('id', d.tablet_id, 'name', d.name,
                           'made_at', to_char(d.created_at AT TIME ZONE 'UTC', moment),
                           'revoked_at', to_char(d.revoked_at AT TIME ZONE 'UTC', moment))
                  FROM tablet d) f
         WHERE NOT EXISTS (SELECT FROM entry e WHERE e.outfit_id = f.outfit_id AND e.kind = 'operator')
         ORDER BY f.outfit_id, f.rank, f.created_at, f.row_id
    LOOP
        id := gen_random_uuid();
        canonical := '{"id":"' || id || '","kind":"operator","occurred_at":"' || at_text || '","recorded_at":"' || at_text
            || '","recorded_by":"the operator","replaces":"","reason":"","content":' || found.content || '}';
        WITH head AS (
            UPDATE book
               SET number = number + 1,
                   digest = sha256(digest || int8send(number + 1) || convert_to(canonical, 'UTF8'))
             WHERE outfit_id = found.outfit_id
            RETURNING number, digest)
        INSERT INTO entry (outfit_id, number, entry_id, kind, occurred_at, recorded_at, recorded_by, content, digest)
        SELECT found.outfit_id, head.number, id, 'operator', recorded, recorded, 'the operator', found.content::json, head.digest
          FROM head;
    END LOOP;
END
$$;

ALTER TABLE outfit FORCE ROW LEVEL SECURITY;
ALTER TABLE person FORCE ROW LEVEL SECURITY;
ALTER TABLE token FORCE ROW LEVEL SECURITY;
ALTER TABLE feed_key FORCE ROW LEVEL SECURITY;
ALTER TABLE tablet FORCE ROW LEVEL SECURITY;
ALTER TABLE book FORCE ROW LEVEL SECURITY;
ALTER TABLE entry FORCE ROW LEVEL SECURITY;
