-- The evening's page that comes by itself: as mail through the outfit's own mail server, or
-- as a web hook.
CREATE TABLE delivery (
    outfit_id   uuid        NOT NULL REFERENCES outfit,
    delivery_id uuid        NOT NULL,
    way         text        NOT NULL,
    name        text        NOT NULL,
    -- A mail address, or where a web hook goes.
    address     text        NOT NULL,
    -- Of mail alone: the server as host:port, the sender's address, and the account there.
    server      text        NOT NULL DEFAULT '',
    sender      text        NOT NULL DEFAULT '',
    account     text        NOT NULL DEFAULT '',
    -- The account's password, or what signs a web hook. The service has to use it, so that it
    -- is stored as it is; it is in no entry and in no answer.
    secret      text        NOT NULL DEFAULT '',
    -- The minute of the outfit's day at which it goes.
    at_minute   int         NOT NULL,
    language    text        NOT NULL,
    made_by     text        NOT NULL,
    created_at  timestamptz NOT NULL DEFAULT now(),
    ended_at    timestamptz,
    -- When it is looked at next.
    next_at     timestamptz NOT NULL,
    -- What is on its way: it stays the same while it is tried again. Empty where nothing is.
    message_id  text        NOT NULL DEFAULT '',
    body        text        NOT NULL DEFAULT '',
    tries       int         NOT NULL DEFAULT 0,
    -- When one last arrived, and why the last try did not; empty where it did.
    sent_at     timestamptz,
    failed      text        NOT NULL DEFAULT '',
    PRIMARY KEY (outfit_id, delivery_id),
    CONSTRAINT name_not_empty CHECK (name ~ '\S'),
    CONSTRAINT way_known CHECK (way IN ('mail', 'hook')),
    CONSTRAINT address_not_empty CHECK (address ~ '\S'),
    CONSTRAINT mail_has_its_server CHECK (way <> 'mail' OR (server ~ '\S' AND sender ~ '\S')),
    CONSTRAINT hook_is_signed CHECK (way <> 'hook' OR secret LIKE 'whsec\_%'),
    CONSTRAINT minute_of_a_day CHECK (at_minute BETWEEN 0 AND 1439),
    CONSTRAINT ended_after_created CHECK (ended_at >= created_at),
    CONSTRAINT tries_not_negative CHECK (tries >= 0)
);
CREATE INDEX delivery_next ON delivery (outfit_id, next_at) WHERE ended_at IS NULL;

ALTER TABLE delivery ENABLE ROW LEVEL SECURITY;
ALTER TABLE delivery FORCE ROW LEVEL SECURITY;
CREATE POLICY own_outfit ON delivery USING (outfit_id = this_outfit());

-- The service looks across outfits for what is due, and asks for nothing of it but the ids.
CREATE POLICY due ON delivery FOR SELECT TO pullbook_service
    USING (ended_at IS NULL AND next_at <= nullif(current_setting('pullbook.due', true), '')::timestamptz);

GRANT SELECT, INSERT ON delivery TO pullbook_service;
GRANT UPDATE (ended_at, next_at, message_id, body, tries, sent_at, failed) ON delivery TO pullbook_service;
GRANT SELECT, UPDATE (ended_at) ON delivery TO pullbook_operator;

-- An entry of the operator's may tell of one.
CREATE OR REPLACE FUNCTION operator_entry_can_be(kind text, replaces uuid, content json) RETURNS boolean
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
        AND about[1] IN ('outfit', 'person', 'token', 'feed_key', 'tablet', 'delivery')
        AND body #>> ARRAY[about[1], 'id'] IS NOT NULL, 'operator_entry_tells_of_one_row');
    RETURN true;
END
$$;
